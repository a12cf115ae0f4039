"""Benchmarks: each module's `run()` measures something against a reference and prints its ratio."""
