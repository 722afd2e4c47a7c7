"""What stops a command before it begins."""


class Refusal(Exception):
    """The command cannot go on; the message is one plain line for the person at the terminal."""
