"""A colour trial: its sheets, the eye or the photo that judges them, and the next round."""
