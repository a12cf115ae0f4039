"""What came of a file: its sessions, or why there are none."""

from dataclasses import dataclass
from typing import Any

from upsides.recordings.recording import Device, Message


@dataclass(frozen=True, slots=True)
class Session:
    """One session of one device, read, its track written.

    Args:
        sha: SHA-256 of the file that it is out of.
        part: which session of that file, from 0.
        file: the file's name.
        format: what it was read as.
        size: of the file, in bytes.
        device: who wrote it.
        sport: what the file calls it.
        began_s, ended_s: seconds since 1970 of its first and last moment; None where its clock says nothing.
        fixes: how many it has.
        messages: what a person should know.
        measured: what was measured, as the books keep it; None where there is no track.
    """

    sha: str
    part: int
    file: str
    format: str
    size: int
    device: Device
    sport: str
    began_s: float | None
    ended_s: float | None
    fixes: int
    messages: tuple[Message, ...]
    measured: dict[str, Any] | None


@dataclass(frozen=True, slots=True)
class Came:
    """What came of one file, or of one file of an archive.

    Args:
        file: its name.
        sessions: what it holds.
        refused: why nothing of it was taken, empty where something was.
    """

    file: str
    sessions: tuple[Session, ...] = ()
    refused: str = ""
