"""A phone photo of a trial sheet: opened, straightened, and freed of its light."""
