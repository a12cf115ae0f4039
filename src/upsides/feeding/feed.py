"""Feeds as their labels describe them, and what is put into a manger."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from upsides.errors import FeedingRefusedError, FeedUnknownError
from upsides.errors.wording import gettext as _
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
        checked_name(_("feed"), self.name)
        if self.kind not in KINDS:
            raise FeedingRefusedError(
                _("kind of {name}", name=self.name),
                self.kind,
                _("there is none"),
                _("one of {kinds}", kinds=", ".join(KINDS)),
            )
        checked(_("energy of {name}", name=self.name), self.energy, 0, MOST_ENERGY, _("MJ a kg as fed"))
        checked(_("dry matter of {name}", name=self.name), self.dry_matter, 0, 1, _("as a share of 1"))
        if self.dry_matter == 0:
            raise FeedingRefusedError(
                _("dry matter of {name}", name=self.name), 0, _("that is water"), _("look at the label")
            )
        self._check_parts()

    def _check_parts(self) -> None:
        parts = {"protein": self.protein, "starch": self.starch}
        stated = {part: value for part, value in parts.items() if value is not None}
        total = sum(
            checked(_("{part} of {name}", part=part, name=self.name), value, 0, 1, _("as a share of 1"))
            for part, value in stated.items()
        )
        if total > self.dry_matter:
            field, reason = (
                _("protein and starch of {name}", name=self.name),
                _("it is more than its dry matter, {dry_matter:g}", dry_matter=self.dry_matter),
            )
            raise FeedingRefusedError(field, f"{total:g}", reason, _("write each as fed"))


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
        checked_name(_("feed time"), self.time)
        checked_name(_("feed"), self.feed)
        checked(_("{feed} at {time}", feed=self.feed, time=self.time), self.kg, 0, 100, _("kg"))


def listed(feeds: Iterable[Feed]) -> dict[str, Feed]:
    """Return feeds by name.

    Raises:
        FeedingRefusedError: two have one name.
    """
    found: dict[str, Feed] = {}
    for feed in feeds:
        if feed.name in found:
            raise FeedingRefusedError(
                _("feed"), feed.name, _("it is on the list twice"), _("give each a name of its own")
            )
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
            field = _("{feed} at {time}", feed=serving.feed, time=serving.time)
            raise FeedingRefusedError(
                field, _("{kg:g} kg", kg=serving.kg), _("it is written twice"), _("write it once, in all")
            )
        seen.add((serving.time, serving.feed))
