"""Filters of the pages of a morning."""
