"""Races of the library."""
