"""Published results, from any table shape into one library."""
