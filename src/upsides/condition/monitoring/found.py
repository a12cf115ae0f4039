"""What the watch finds on a day, as plain values; loads nothing that is compiled."""

from dataclasses import dataclass
from typing import Literal

Way = Literal["above", "below"]
Level = Literal["yard", "barn", "device"]


@dataclass(frozen=True, slots=True)
class Group:
    """The yard, a barn or a device; its code is 0 for the yard."""

    level: Level
    code: int = 0


@dataclass(frozen=True, slots=True)
class HorseFinding:
    """A horse that stands out in one kind of reading.

    Attributes:
        horse, kind: codes.
        way: which way it is off.
        usual: what it usually reads, as the day and the device have it.
        now: its last reading.
        last: the day of that.
        lately: the mean of its readings since it has been off.
        readings: how many those are.
        since: the day since which it has been off.
        off_sd: how far off the last reading is, in its own standard deviations, barn and device taken off.
        nearness: how far over its limit: 1 is at it. Back below a half it may be pointed at anew.
        new: whether it began to stand out at its last reading.
        of_barn: by how much its barn as a whole is off that day, in the unit of the kind.
        of_all: by how much yard, barn and device together move this reading.
        with_it: groups that stand out in the same kind, to which it belongs.
    """

    horse: int
    kind: int
    way: Way
    usual: float
    now: float
    last: int
    lately: float
    readings: int
    since: int
    off_sd: float
    nearness: float
    new: bool
    of_barn: float
    of_all: float
    with_it: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class GroupFinding:
    """A barn, a device or the whole yard that stands out in one kind of reading.

    Attributes:
        group, kind: what stands out, and in what.
        way: which way.
        off: by how much, in the unit of the kind: a mean over the days since it has been off; of a device how far its
            level has moved since.
        since: the day since which it has been off.
        last: the day of its last readings.
        read: how many readings it had that day.
        beyond: how many of them were off the same way by more than two of their own standard deviations.
        off_sd: how far off, in standard deviations of what such days usually do.
        nearness: how far over its limit.
        new: whether it began to stand out on that day.
        or_else: another group that it cannot be told apart from, as a barn from the thermometer that it alone uses;
            None where there is none.
    """

    group: Group
    kind: int
    way: Way
    off: float
    since: int
    last: int
    read: int
    beyond: int
    off_sd: float
    nearness: float
    new: bool
    or_else: Group | None


@dataclass(frozen=True, slots=True)
class Missed:
    """A horse that was not read for longer than it usually is.

    Attributes:
        horse, kind: codes.
        days: for how long; since it came, where it never was.
        usual: days between its readings, or those of the yard.
        never: whether none of the readings that were watched is its.
    """

    horse: int
    kind: int
    days: int
    usual: float
    never: bool = False


@dataclass(frozen=True, slots=True)
class Swapped:
    """Two horses whose trackers look exchanged.

    Attributes:
        one, other: their codes.
        chance: how probable it is.
        kinds: the kinds of reading that say so or against it.
    """

    one: int
    other: int
    chance: float
    kinds: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Findings:
    """What is found on a day.

    Attributes:
        horses: whom to look at, most pressing first, every kind in which one stands out; of at most as many horses as
            was asked for.
        more: how many horses besides stand out.
        groups: of the yard, barns and devices, most pressing first.
        missed: what was not read, longest first.
        swapped: pairs of horses whose trackers look exchanged that day.
    """

    horses: tuple[HorseFinding, ...]
    more: int
    groups: tuple[GroupFinding, ...]
    missed: tuple[Missed, ...]
    swapped: tuple[Swapped, ...]
