"""The upsides command."""
