"""The shell around every page: frame, style, errors."""
