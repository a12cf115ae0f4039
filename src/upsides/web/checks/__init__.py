"""The checks of the barns, morning and evening."""
