"""The one error of the command itself."""


class Refused(Exception):
    """Something asked for that cannot be done; the text says what would do."""
