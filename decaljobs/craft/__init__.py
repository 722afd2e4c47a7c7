"""What the trade knows: calculations without Django, files or a clock of their own."""
