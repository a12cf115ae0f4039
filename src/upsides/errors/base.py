"""The root of everything that is refused in words."""


class UpsidesError(Exception):
    """Anything this package refuses in words a person can act on."""
