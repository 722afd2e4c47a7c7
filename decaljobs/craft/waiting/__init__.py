"""Waits that dry: the clock that runs, when it is over, and how it is said and drawn."""
