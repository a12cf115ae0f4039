"""The yard's own records: the Django application."""
