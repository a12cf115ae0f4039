"""The draw: what a stall is worth, where, and how surely; and what breaking in front is worth."""
