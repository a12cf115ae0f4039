"""Lots as they are printed, for the morning sheet and for tomorrow's list."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ride:
    """One horse in a lot.

    Args:
        horse: its name.
        box: where it stands.
        rider: who rides it.
        order: the exercise order.
        gallop: where.
        company: which horses it works with.
        cautions: what to mind, a line each.
        changed: what is otherwise than before, in words; empty where nothing is.
    """

    horse: str
    box: str = ""
    rider: str = ""
    order: str = ""
    gallop: str = ""
    company: str = ""
    cautions: tuple[str, ...] = ()
    changed: str = ""


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot: its title, what is to be said of it in a few words, and its rides in string order."""

    title: str
    rides: tuple[Ride, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class RideTitles:
    """The titles of the columns; `notes` stands over the column that stays blank."""

    horse: str
    box: str
    rider: str
    order: str
    gallop: str
    company: str
    cautions: str
    notes: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a list: when (or what number), and what."""

    when: str
    what: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A list under a title; `nothing` is the sentence that stands there where it is empty."""

    title: str
    lines: tuple[Line, ...]
    nothing: str
