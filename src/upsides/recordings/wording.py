"""Counts in words, for messages."""


def many(count: int, one: str, more: str = "") -> str:
    """Return "1 fix" or "3 fixes"; `more` is the plural where it is not `one` with an s."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def times(count: int) -> str:
    """Return "once" or "3 times"."""
    return "once" if count == 1 else f"{count} times"
