"""The stopwatch: two horses at once over known marks."""
