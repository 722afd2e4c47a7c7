"""Cutting by hand: where the knife has room, how it wanders, and how edges came out."""
