"""Legs: a picture on which they are chosen and shown, and what was found on a horse's legs lately."""
