"""The morning, the evening list, lots."""
