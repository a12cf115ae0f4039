"""The barn phone."""
