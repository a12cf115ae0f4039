"""The conditions of a race: read from their wording, and as values that say yes or no of a horse."""
