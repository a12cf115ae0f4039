"""The heart in a morning: how it came down, and how it went up with speed. Trends of one horse; never a class table."""
