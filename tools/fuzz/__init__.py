"""Fuzzing of the readers of recordings."""
