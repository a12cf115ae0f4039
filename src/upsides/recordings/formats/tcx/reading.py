"""The reader of TCX."""

import numpy as np

from upsides.recordings.formats.columns import instants, numbers, settle
from upsides.recordings.formats.documents import Attributes, Document, Row, columns_of, texts
from upsides.recordings.recording import Device, Message, Recording

COLUMNS, PLACES = columns_of(
    {
        "time": "time",
        "latitudedegrees": "latitude",
        "longitudedegrees": "longitude",
        "altitudemeters": "height_m",
        "distancemeters": "distance_m",
        "heartratebpm": "heart_bpm",
        "speed": "speed_ms",
    }
)
POINTS, OTHERS = ("Trackpoint",), ("Activity", "Course", "Lap", "Creator", "Name", "UnitId")


class _Session:
    """One activity while it is read."""

    def __init__(self, sport: str) -> None:
        self.sport = sport
        self.creator: dict[str, str] = {}
        self.rows: list[Row] = []
        self.laps = 0
        self.segment: list[int] = []

    def recording(self, file: str, told: tuple[Message, ...]) -> Recording:
        written = texts(COLUMNS, self.rows)
        time, odd = instants(written.pop("time"))
        columns, settled = settle({"time_s": time, **{name: numbers(column) for name, column in written.items()}})
        return Recording.of_columns(
            file,
            "tcx",
            len(self.rows),
            segment=np.array(self.segment, dtype=np.int64),
            device=Device(product=self.creator.get("name", ""), serial=self.creator.get("unitid", "")),
            sport=self.sport,
            motion=None,
            speeds=None,
            messages=(*told, *odd, *settled),
            **columns,
        )


class _Sessions:
    """The activities of a document as it tells them; what stands outside of any belongs to one without a sport."""

    def __init__(self) -> None:
        self.all: list[_Session] = []

    def begins(self, name: str, attributes: Attributes) -> None:
        if name in {"activity", "course"}:
            self.all.append(_Session(attributes.get("Sport", "")))
        elif name == "lap" and self.all:
            self.all[-1].laps += 1

    def says(self, name: str, text: str, within: str) -> None:
        if within == "creator" and self.all:
            self.all[-1].creator[name] = text

    def fix(self, name: str, attributes: Attributes, row: Row) -> None:  # noqa: ARG002 -- a fix has no attributes here
        if not self.all:
            self.all.append(_Session(""))
        self.all[-1].segment.append(max(self.all[-1].laps - 1, 0))
        self.all[-1].rows.append(row)


def read_tcx(data: bytes, file: str) -> list[Recording]:
    """Read TCX: one recording an activity or a course, its laps as segments; see SPECIFICATION.md.

    Raises:
        EntitiesRefusedError: the document declares entities.
    """
    document = Document(data, file, "TrainingCenterDatabase", POINTS, OTHERS)
    sessions = _Sessions()
    document.read(PLACES, sessions)
    told = tuple(document.messages)
    read = [session.recording(file, told) for session in sessions.all if session.rows]
    return read or [Recording.of_columns(file, "tcx", 0, messages=(*told, Message("no_fixes")))]
