"""What each run was worth and what each horse is worth: performances in pounds, and levels that move in time."""
