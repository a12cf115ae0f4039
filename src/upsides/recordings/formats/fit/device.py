"""Who wrote a file, what it calls its sport, and where its laps begin."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.messages import Floats, Messages, messages_of
from upsides.recordings.formats.fit.walking import Walk
from upsides.recordings.recording import Device

SPORT, START = profile.Spec(5), profile.Spec(2)
OF_FILE = {"maker": 1, "product": 2, "serial": 3, "name": 8}
OF_DEVICE = {"maker": 2, "product": 4, "serial": 3, "name": 27}
INDEX = profile.Spec(0)


def device_of(walk: Walk) -> Device:
    """Return the device that wrote a file: numbers of the public register as text, or the product's name where written.

    What the file's own message lacks is taken from that of the device that wrote it, which is the one of index 0.
    """
    told = [_device(messages_of(walk, profile.FILE_ID), OF_FILE)]
    others = messages_of(walk, profile.DEVICE_INFO)
    told.append(_device(others, OF_DEVICE, others.column(INDEX) == 0))
    maker, product, serial = (next((one[i] for one in told if one[i]), "") for i in range(3))
    return Device(maker, product, serial)


def _device(
    messages: Messages, numbers: dict[str, int], of_these: NDArray[np.bool_] | None = None
) -> tuple[str, str, str]:
    rows = np.arange(len(messages)) if of_these is None else np.flatnonzero(of_these)
    maker, product, serial = (
        _number(messages.column(profile.Spec(numbers[name]))[rows]) for name in ("maker", "product", "serial")
    )
    texts = messages.texts(numbers["name"]) if rows.size else []
    name = next((texts[row] for row in rows if texts[row]), "")
    return maker, name or product, serial


def _number(column: Floats) -> str:
    """Return the first number of a column as text, "" where there is none; nought is none, too."""
    known = column[(column > 0) & (column < 1 << 32)]
    return str(int(known[0])) if known.size else ""


def sport_of(walk: Walk) -> str:
    """Return what the sessions of a file call their sport, each once, "" where they do not."""
    numbers = messages_of(walk, profile.SESSION).column(SPORT)
    known = dict.fromkeys(int(number) for number in numbers[(numbers >= 0) & (numbers < 256)])
    return ", ".join(profile.SPORTS.get(number, f"sport {number}") for number in list(known)[:5])


def laps_of(walk: Walk, time: Floats) -> NDArray[np.int64]:
    """Return (n,) the lap that each fix belongs to, from 0, by when laps begin; 0 where that is not known."""
    starts = np.unique(messages_of(walk, profile.LAP).column(START))
    starts = starts[np.isfinite(starts)] + profile.EPOCH_S
    number = np.searchsorted(starts, time, side="right") - 1
    return np.where(np.isfinite(time), np.maximum(number, 0), 0).astype(np.int64)
