"""Writes to the books."""
