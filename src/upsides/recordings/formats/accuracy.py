"""A receiver's own view of its error, as one standard deviation in metres."""

METRES_PER_HDOP = 4.0
"""An engineering choice, without a source: under a good sky the range error of a receiver of one frequency has a
standard deviation of a few metres, and a horizontal dilution of 1 then stands for it, both directions together."""
