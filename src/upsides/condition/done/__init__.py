"""What horses have done: from recordings, stopwatch, results and the diary to sums by speed over any days."""
