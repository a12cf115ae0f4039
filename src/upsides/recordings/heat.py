"""Heat as a horse feels it: the wet bulb globe temperature, from instruments or from air and moisture."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def wet_bulb_globe(wet_bulb_c: ArrayLike, globe_c: ArrayLike) -> Floats:
    """Return the wet bulb globe temperature for horses, 0.7 wet bulb + 0.3 globe.

    Args:
        wet_bulb_c: natural wet bulb temperature, degrees Celsius.
        globe_c: temperature of the black globe, degrees Celsius.

    Source: Schroter and Marlin 1995, Equine Veterinary Journal.
    """
    return 0.7 * np.asarray(wet_bulb_c, dtype=np.float64) + 0.3 * np.asarray(globe_c, dtype=np.float64)


def vapour_pressure(temperature_c: ArrayLike, humidity_percent: ArrayLike) -> Floats:
    """Return the pressure of water vapour in air, hPa, by Magnus' formula.

    Source: the simplified form that Australia's meteorological bureau publishes with its wet bulb globe estimate.
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(humidity_percent, dtype=np.float64) / 100 * 6.105 * np.exp(17.27 * t / (237.7 + t))


def wet_bulb_globe_estimate(temperature_c: ArrayLike, humidity_percent: ArrayLike) -> Floats:
    """Return the wet bulb globe temperature without instruments, 0.567 T + 0.393 e + 3.94, degrees Celsius.

    It takes moderate sun and a light wind for granted: in full sun and still air it is too low, and no instrument's
    substitute.

    Args:
        temperature_c: of the air in the shade, T.
        humidity_percent: relative humidity, which gives e.

    Source: the simplified outdoor form that Australia's meteorological bureau publishes.
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return 0.567 * t + 0.393 * vapour_pressure(t, humidity_percent) + 3.94
