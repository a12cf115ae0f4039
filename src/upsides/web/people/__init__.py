"""The people of the yard."""
