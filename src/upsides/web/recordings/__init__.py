"""Recordings, the gallops and horses that they are of, and heat."""
