"""Signing in and what belongs to it."""
