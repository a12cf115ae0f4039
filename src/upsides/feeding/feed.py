"""Feeds as their labels describe them, and what is put into a manger."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from upsides.errors import FeedingRefusedError, FeedUnknownError
from upsides.feeding.checking import checked, checked_name

Kind = Literal["forage", "concentrate", "supplement"]

KINDS: Final[tuple[Kind, ...]] = ("forage", "concentrate", "supplement")

MOST_ENERGY: Final = 40.0
"""MJ a kg; pure fat burns to about 39, so that a figure typed in other units is noticed."""


@dataclass(frozen=True, slots=True)
class Feed:
    """One feed, from its label or an analysis.

    Attributes:
        name: what the yard calls it.
        kind: one of `KINDS`.
        energy: MJ of digestible energy a kg as fed.
        dry_matter: share of its mass that is not water, above 0 and up to 1.
        protein, starch: shares of its mass as fed; None where the label does not say.
    """

    name: str
    kind: Kind
    energy: float
    dry_matter: float
    protein: float | None = None
    starch: float | None = None

    def __post_init__(self) -> None:
        checked_name("feed", self.name)
        if self.kind not in KINDS:
            raise FeedingRefusedError(f"kind of {self.name}", self.kind, "there is none", f"one of {', '.join(KINDS)}")
        checked(f"energy of {self.name}", self.energy, 0, MOST_ENERGY, "MJ a kg as fed")
        checked(f"dry matter of {self.name}", self.dry_matter, 0, 1, "as a share of 1")
        if self.dry_matter == 0:
            raise FeedingRefusedError(f"dry matter of {self.name}", 0, "that is water", "look at the label")
        self._check_parts()

    def _check_parts(self) -> None:
        parts = {"protein": self.protein, "starch": self.starch}
        stated = {part: value for part, value in parts.items() if value is not None}
        total = sum(checked(f"{part} of {self.name}", value, 0, 1, "as a share of 1") for part, value in stated.items())
        if total > self.dry_matter:
            field, reason = f"protein and starch of {self.name}", f"it is more than its dry matter, {self.dry_matter:g}"
            raise FeedingRefusedError(field, f"{total:g}", reason, "write each as fed")


@dataclass(frozen=True, slots=True)
class Serving:
    """What is given of a feed at a feed time.

    Attributes:
        time: the yard's name of the feed time.
        feed: name of the feed.
        kg: amount as fed.
    """

    time: str
    feed: str
    kg: float

    def __post_init__(self) -> None:
        checked_name("feed time", self.time)
        checked_name("feed", self.feed)
        checked(f"{self.feed} at {self.time}", self.kg, 0, 100, "kg")


def listed(feeds: Iterable[Feed]) -> dict[str, Feed]:
    """Return feeds by name.

    Raises:
        FeedingRefusedError: two have one name.
    """
    found: dict[str, Feed] = {}
    for feed in feeds:
        if feed.name in found:
            raise FeedingRefusedError("feed", feed.name, "it is on the list twice", "give each a name of its own")
        found[feed.name] = feed
    return found


def check_servings(servings: Iterable[Serving], feeds: Mapping[str, Feed] | None = None) -> None:
    """Refuse a feed that is written twice for one feed time, or that is not on the list where there is one.

    Raises:
        FeedingRefusedError, FeedUnknownError: so it is.
    """
    seen: set[tuple[str, str]] = set()
    for serving in servings:
        if feeds is not None and serving.feed not in feeds:
            raise FeedUnknownError(serving.feed, feeds)
        if (serving.time, serving.feed) in seen:
            field = f"{serving.feed} at {serving.time}"
            raise FeedingRefusedError(field, f"{serving.kg:g} kg", "it is written twice", "write it once, in all")
        seen.add((serving.time, serving.feed))
