"""What a horse did in the morning: files of trackers and heart monitors, and a stopwatch, become clocked work."""
