"""Words for templates."""
