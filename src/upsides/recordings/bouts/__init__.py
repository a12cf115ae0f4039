"""What a clean track says the horse did: bouts at each gait, and the clock of each."""
