"""The diary: entering, also without signal."""
