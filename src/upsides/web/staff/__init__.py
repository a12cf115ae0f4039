"""Who works when; the yard's gallops and things."""
