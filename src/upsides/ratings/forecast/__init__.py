"""Chances of the runners of a race from everything known before it, and the walk forward that judges them."""
