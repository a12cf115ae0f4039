"""Simulated mornings: horses that walk, trot, canter and work on gallops, what devices write of it, and the truth."""
