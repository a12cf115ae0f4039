"""Words of the diary, for templates."""
