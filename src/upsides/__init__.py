"""Upsides: which trip, which work, which race, each answer with its uncertainty and its reasons."""
