"""The air of a room: readings, what is expected of it, and whether one may spray."""
