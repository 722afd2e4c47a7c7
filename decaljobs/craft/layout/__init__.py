"""How a layout of film is searched for: rectangles, straight cuts, and outlines to nest."""
