"""The reader of FIT."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

import numpy as np

from upsides.errors import RecordingRefusedError, RecordingTooLargeError
from upsides.errors.wording import gettext as _
from upsides.recordings.formats.columns import settle
from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.columns import record_columns
from upsides.recordings.formats.fit.damaged import doubtful, walk_damaged
from upsides.recordings.formats.fit.dense import place_columns, with_places
from upsides.recordings.formats.fit.device import device_of, laps_of, sport_of
from upsides.recordings.formats.fit.header import Part, parts
from upsides.recordings.formats.fit.heart import with_beats
from upsides.recordings.formats.fit.messages import Floats, messages_of
from upsides.recordings.formats.fit.motion import motion_of
from upsides.recordings.formats.fit.walking import Walk, walk
from upsides.recordings.formats.fit.within_records import motion_in_records, speeds_in_records
from upsides.recordings.recording import Message, Recording

MOST_PARTS = 200
"""More files in one than anybody chains."""
MOST_MESSAGES = 5_000_000
"""As many as ten a second give in five days."""


def read_fit(data: bytes, file: str) -> list[Recording]:
    """Read FIT: one recording of each file that is chained in it, as far as its bytes allow; see SPECIFICATION.md.

    Raises:
        RecordingRefusedError: no FIT file begins anywhere in the bytes.
        RecordingTooLargeError: it holds far more messages than a session has.
    """
    found = list(islice(parts(data), MOST_PARTS + 1))
    if not found:
        reason = _("no FIT file begins in it: the signature is missing or cut off")
        raise RecordingRefusedError(file, reason, _("copy it from the device again"))
    once: dict[bytes, Part] = {}
    for part in found[:MOST_PARTS]:
        once.setdefault(data[part.body : part.end], part)
    with np.errstate(all="ignore"):  # numbers of any size may stand in a file; what does not fit becomes nothing
        told = [_recording(data, part, file) for part in once.values()]
    read = [one for one in told if len(one)] or told[:1]
    said = [Message("parts_twice", {"count": twice})] if (twice := min(len(found), MOST_PARTS) - len(once)) else []
    said += [Message("too_many_parts", {"count": MOST_PARTS})] if len(found) > MOST_PARTS else []
    read[0] = replace(read[0], messages=(*read[0].messages, *said))
    if len(read) == 1:
        return read
    return [replace(one, file=f"{file}#{number}") for number, one in enumerate(read, start=1)]


def _recording(data: bytes, part: Part, file: str) -> Recording:
    walked = walk(data, part.body, part.end)
    if part.fault and doubtful(walked):
        walked = walk_damaged(data, part.body, part.end)
    if sum(len(places) for _, places in walked.found.values()) > MOST_MESSAGES:
        raise RecordingTooLargeError(
            file, _("it holds more than {most_messages} million messages", most_messages=MOST_MESSAGES // 1000000)
        )
    records = messages_of(walked, profile.RECORD)
    columns = record_columns(walked, records)
    of_records = columns["time_s"]
    said = [*_of_the_file(part), *_of_the_walk(walked)]
    dense = with_places(columns, place_columns(walked, messages_of(walked, profile.PLACE)))
    if dense is not None:
        said.append(Message("dense_positions", {"count": dense["time_s"].size}))
    columns = with_beats(walked, dense or columns, messages_of(walked, profile.HEART))
    settled, odd = settle(columns)
    said += _of_the_clock(settled["time_s"])
    count = settled["time_s"].size
    if not count:
        said.append(Message("no_fixes"))
    return Recording.of_columns(
        file,
        "fit",
        count,
        segment=laps_of(walked, settled["time_s"]),
        device=device_of(walked),
        sport=sport_of(walked),
        motion=motion_of(walked) or motion_in_records(walked, records, of_records),
        speeds=speeds_in_records(walked, records, of_records),
        messages=(*said, *odd),
        **settled,
    )


def _of_the_file(part: Part) -> Iterator[Message]:
    if part.fault == "crc_wrong":
        yield Message("crc_wrong")
    elif part.fault == "crc_missing":
        yield Message("crc_missing")
    elif part.fault == "cut_off":
        yield Message("ends_early", {"count": part.missing})
    elif part.fault == "unclosed":
        yield Message("unclosed")


def _of_the_walk(walked: Walk) -> Iterator[Message]:
    if walked.cut:
        yield Message("message_cut_off", {"count": walked.cut})
    if walked.breaks:
        yield Message("undefined", {"count": walked.lost, "places": walked.breaks})


def _of_the_clock(time: Floats) -> Iterator[Message]:
    unset = int(np.count_nonzero(time < profile.EPOCH_S + profile.CLOCK_SET))
    if unset:
        yield Message("clock_unset", {"count": unset})
