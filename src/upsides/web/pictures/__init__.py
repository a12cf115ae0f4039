"""Photographs of a horse: taking them in, looking at them."""
