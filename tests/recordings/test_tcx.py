"""TCX, held to values that stand in the documents."""

from datetime import UTC, datetime

import numpy as np
import pytest

from upsides.errors import EntitiesRefusedError
from upsides.recordings.formats.tcx import read_tcx
from upsides.recordings.recording import Device, Recording

POSITION = "<Position><LatitudeDegrees>{}</LatitudeDegrees><LongitudeDegrees>{}</LongitudeDegrees></Position>"
HEAD = '<?xml version="1.0" encoding="UTF-8"?><TrainingCenterDatabase xmlns="urn:tcx"><Activities>'
TAIL = "</Activities></TrainingCenterDatabase>"


def point(second: int, heart: int | None = 120, *, place: bool = True, more: str = "") -> str:
    pulse = "" if heart is None else f"<HeartRateBpm><Value>{heart}</Value></HeartRateBpm>"
    where = POSITION.format(51.5 + second / 1e5, -1.25) if place else ""
    time = f"<Time>2024-05-01T06:00:{second:02d}.000Z</Time>"
    measured = f"<AltitudeMeters>80.5</AltitudeMeters><DistanceMeters>{second * 1.5}</DistanceMeters>"
    return f"<Trackpoint>{time}{where}{measured}{pulse}{more}</Trackpoint>"


def lap(*points: str) -> str:
    """Return a lap, whose sums of heart and distance are no fix's."""
    sums = "<TotalTimeSeconds>9</TotalTimeSeconds><DistanceMeters>999</DistanceMeters>"
    heart = "<AverageHeartRateBpm><Value>77</Value></AverageHeartRateBpm>"
    return f'<Lap StartTime="2024-05-01T06:00:00Z">{sums}{heart}<Track>{"".join(points)}</Track></Lap>'


def activity(*laps: str, sport: str = "Other") -> str:
    creator = "<Creator><Name> Logger 7 </Name><UnitId>4711</UnitId></Creator>"
    return f'<Activity Sport="{sport}"><Id>x</Id>{"".join(laps)}{creator}</Activity>'


def read(text: str) -> Recording:
    (recording,) = read_tcx(text.encode(), "a.tcx")
    return recording


def test_everything_that_a_point_says() -> None:
    """Time, position, height, distance, heart and the speed of the extension are read, and nothing of a lap's sums."""
    more = '<Extensions><n:TPX xmlns:n="urn:n"><n:Speed>4.25</n:Speed></n:TPX></Extensions>'
    recording = read(HEAD + activity(lap(point(0), point(2, 130, more=more))) + TAIL)
    assert recording.time_s[1] == datetime(2024, 5, 1, 6, 0, 2, tzinfo=UTC).timestamp()
    assert (recording.latitude[1], recording.longitude[1]) == (51.50002, -1.25)
    assert (recording.height_m[1], recording.distance_m[1]) == (80.5, 3.0)
    assert recording.heart_bpm.tolist() == [120.0, 130.0]
    assert np.isnan(recording.speed_ms[0])
    assert recording.speed_ms[1] == 4.25
    assert (recording.device, recording.sport) == (Device(product="Logger 7", serial="4711"), "Other")


def test_laps_are_segments() -> None:
    """Each lap is a segment, an empty one keeps its number, and the point that two laps share stands twice."""
    recording = read(HEAD + activity(lap(point(0), point(1)), lap(), lap(point(1), point(2))) + TAIL)
    assert recording.segment.tolist() == [0, 0, 2, 2]
    assert np.diff(recording.time_s).tolist() == [1.0, 0.0, 1.0]


def test_points_without_position_or_heart() -> None:
    """A point without a position, and one without a heart rate, stay fixes and are NaN there."""
    recording = read(HEAD + activity(lap(point(0, place=False), point(1, None), point(2, 0))) + TAIL)
    assert (len(recording), recording.with_position, recording.with_heart) == (3, 2, 1)
    assert [(message.code, message.count) for message in recording.messages] == [("no_heart", 1)]


def test_activities_are_recordings() -> None:
    """Two activities are two recordings with their own sports; one without a point is left out."""
    text = HEAD + activity(lap(point(0)), sport="Running") + activity(sport="Biking") + activity(lap(point(5))) + TAIL
    assert [(one.sport, len(one)) for one in read_tcx(text.encode(), "a.tcx")] == [("Running", 1), ("Other", 1)]


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7, 0.9])
def test_a_file_that_breaks_off(share: float) -> None:
    """Cut at any share of its length it gives the points that were whole before the cut, and says so."""
    text = HEAD + activity(lap(*(point(second) for second in range(40)))) + TAIL
    cut = text[: int(len(text) * share)]
    recording = read(cut)
    assert len(recording) == cut.count("</Trackpoint>")
    assert recording.distance_m.tolist() == [second * 1.5 for second in range(len(recording))]
    assert [message.code for message in recording.messages] == ["cut_off"]


def test_a_document_without_points() -> None:
    """A document of no activity is a recording of no fixes that says so."""
    recording = read(HEAD + TAIL)
    assert (len(recording), recording.messages[0].code) == (0, "no_fixes")


def test_entities_are_refused() -> None:
    """A document that declares an entity is refused, also an outside one, which is never fetched."""
    for told in ('"ha"', 'SYSTEM "file:///etc/hostname"'):
        text = f"<!DOCTYPE a [<!ENTITY b {told}>]>{HEAD}{activity(lap(point(0)))}{TAIL}".replace("Logger", "&b;")
        with pytest.raises(EntitiesRefusedError, match=r"a\.tcx"):
            read_tcx(text.encode(), "a.tcx")
