"""How horses are: one horse on one time axis, whom to look at first, calls."""
