"""The picture of the legs, for templates."""
