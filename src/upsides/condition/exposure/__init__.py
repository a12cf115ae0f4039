"""Published figures on exercise and injury beside a horse's own sums; none is a forecast, and none are multiplied."""
