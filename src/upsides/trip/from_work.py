"""What speed in a morning's work says of a horse's trip: next to nothing, and that much is passed on.

Work is over two to five furlongs: it shows how fast a horse is, and nothing of how long it lasts. That fast horses want
shorter trips is common practice without a source, so the correlation is as weak as the one that shape has (`rules`,
trip). What it can say is the piece of a normal regression: with r the correlation of speed and trip, z the speed in
standard deviations and s the spread of trips, the trip given z is normal about centre + r s z with variance
s^2 (1 - r^2). As one more measure beside a prior of spread s that is

    trip = centre + s z / r,     sd = s sqrt(1 - r^2) / |r|

which for r = -0.1 is ten times as wide as the trips of a population.
"""

import numpy as np

from upsides.trip.case import Measure

CORRELATION = -0.1
"""Of speed in work and best trip; common practice, no source."""


def speed_in_work(faster: float, error: float, centre: float, spread: float) -> Measure:
    """Return the piece.

    Args:
        faster: by how much faster it worked than horses usually do on that gallop over that distance, in standard
            deviations from horse to horse.
        error: standard deviation of that by the clock and by how it was ridden, in the same.
        centre: the population's usual trip, octaves.
        spread: its standard deviation from horse to horse, octaves.
    """
    r = CORRELATION / float(np.hypot(1.0, error))
    z = faster / float(np.hypot(1.0, error))
    return Measure("speed in work", centre + spread * z / r, spread * float(np.sqrt(1.0 - r * r)) / abs(r))
