"""The yard's string and its horses."""
