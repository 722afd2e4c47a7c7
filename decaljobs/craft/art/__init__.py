"""The art itself: what of a picture is art, its band, its colours, and where it needs white."""
