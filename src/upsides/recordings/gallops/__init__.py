"""The yard's gallops as lines on the ground: recognised by shape, timed at their marks, learned from tracks."""
