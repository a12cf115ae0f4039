"""The files of trackers: what each horse's morning left in the device that it wore."""

from dataclasses import replace
from typing import Final

from upsides.demo.morning_sim.receiver import Receiver, recorded
from upsides.demo.morning_sim.truth import Truth
from upsides.demo.tracked.riding import truths_of
from upsides.demo.tracked.session import Session
from upsides.recordings.formats.fit.writing import write_fit
from upsides.recordings.recording import Device

RATES_HZ: Final = (5.0, 5.0, 5.0, 4.0, 1.0)
"""How often trackers write a fix, by the last figure of their serial number."""
FELT_HZ: Final = 50.0
"""How often those that feel acceleration write it."""
_KEPT_OF_CUT = 0.7


def files_of(sessions: tuple[Session, ...]) -> list[tuple[str, bytes]]:
    """Return the files of one horse, or of a pair that worked upsides: name and bytes of each."""
    return [(session.file, _file(session, truth)) for session, truth in zip(sessions, truths_of(sessions), strict=True)]


def _file(session: Session, truth: Truth) -> bytes:
    rate = RATES_HZ[int(session.serial[-1]) % len(RATES_HZ)]
    device = Receiver(rate_hz=rate, motion_hz=FELT_HZ if session.feels else 0.0)
    told = recorded(session.chance("device"), truth, device, file=session.file)
    data = write_fit(replace(told, device=Device("", "", session.serial)))
    return data[: round(_KEPT_OF_CUT * len(data))] if session.fault == "cut" else data
