"""Rows of the books that a cell names: horses by name, microchip or passport; people, gallops and horses by name."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from upsides.books.diary import Names
from upsides.books.diary.fields import Row
from upsides.books.models import Horse
from upsides.books.queries.moments import Moment, rows
from upsides.books.queries.names import Lists, lists
from upsides.errors import CellRefusedError
from upsides.errors.wording import gettext as _
from upsides.results.identity import plain_name
from upsides.results.naming import SUFFIXED

NUMBERS: Final = ("microchip", "passport")


@dataclass(frozen=True, slots=True)
class Known:
    """The horses of the books as tables name them, and what entries may name.

    Args:
        horses: every horse.
        by_name, by_number: places in `horses` by plain name, and by (microchip or passport, digits).
        offered: people, gallops and horses in training.
        names: what rows are called, for saying entries.
    """

    horses: Sequence[Horse]
    by_name: Mapping[str, Sequence[Horse]]
    by_number: Mapping[tuple[str, str], Sequence[Horse]]
    offered: Lists
    names: Names

    def horse(self, said: Mapping[str, str], headings: Mapping[str, str]) -> Horse:
        """Return the one horse that a row names.

        Args:
            said: what the row says of it: horse, foaled, dam, microchip, passport.
            headings: heading of each.

        Raises:
            CellRefusedError: it is no horse of the books, or could be several.
        """
        for name in NUMBERS:
            if typed := said.get(name):
                return self._numbered(name, typed, said, headings)
        typed = said.get("horse", "")
        where = headings.get("horse", "horse")
        if not typed:
            raise CellRefusedError(where, "", _("no horse is named"), _("write its name, microchip or passport"))
        found = self._called(typed)
        if not found:
            raise CellRefusedError(where, typed, _("the books have no horse of that name"), self._near(typed))
        fitting = [horse for horse in found if _fits(horse, said)]
        if len(fitting) == 1:
            return fitting[0]
        raise _doubtful(where, typed, fitting or found, any_fits=bool(fitting))

    def _called(self, typed: str) -> Sequence[Horse]:
        bare = found[1] if (found := SUFFIXED.fullmatch(typed)) else typed
        return self.by_name.get(plain_name(typed)) or self.by_name.get(plain_name(bare), ())

    def _numbered(self, name: str, typed: str, said: Mapping[str, str], headings: Mapping[str, str]) -> Horse:
        found = self.by_number.get((name, plain_name(typed)), ())
        if len(found) != 1:
            reason = (
                _("{count} horses have this {name}", count=len(found), name=name)
                if found
                else _("no horse of the books has this {name}", name=name)
            )
            raise CellRefusedError(headings[name], typed, reason, _("see its page, or name the horse instead"))
        called = said.get("horse", "")
        if called and found[0] not in self._called(called):
            reason = _("this {name} is that of {horse}", name=name, horse=found[0].name)
            raise CellRefusedError(
                headings["horse"], called, reason, _("see which of name and {name} is right", name=name)
            )
        return found[0]

    def _near(self, typed: str) -> str:
        near = get_close_matches(plain_name(typed), self.by_name, n=2, cutoff=0.75)
        names = " or ".join(horse.name for key in near for horse in self.by_name[key][:1])
        return f"is it {names}?" if names else "enter the horse first, or correct the name"

    def row(self, field: Row, typed: str, heading: str) -> str:
        """Return the numbers of the rows that a cell names, as a field reads them.

        Raises:
            CellRefusedError: there is no such row, or several.
        """
        parts = [part.strip() for part in _parted(typed)] if field.many else [typed]
        return ",".join(str(self._row(field, part, heading)) for part in parts if part)

    def _row(self, field: Row, typed: str, heading: str) -> int:
        wanted = plain_name(typed)
        found = [number for number, name in self.offered.rows(field.of, field.roles) if plain_name(name) == wanted]
        if len(found) == 1:
            return found[0]
        roles = ", ".join(field.roles)
        who = _("a {kind} ({roles})", kind=field.of, roles=roles) if roles else _("a {kind}", kind=field.of)
        unknown = _("it is no name of {who} in the books", who=who)
        reason = _("{count} are called so", count=len(found)) if found else unknown
        raise CellRefusedError(
            heading, typed, reason, _("enter the {who} first, or leave the column out", who=field.of)
        )


def known(moment: Moment) -> Known:
    """Return what tables can name at a moment."""
    horses = list(rows(Horse, moment).order_by("name"))
    by_name: dict[str, list[Horse]] = {}
    by_number: dict[tuple[str, str], list[Horse]] = {}
    for horse in horses:
        by_name.setdefault(plain_name(horse.name), []).append(horse)
        for name in NUMBERS:
            for number in _numbers(horse, name):
                by_number.setdefault((name, number), []).append(horse)
    offered = lists(moment)
    named = [("horse", horse.pk, horse.name) for horse in horses]
    named += [("person", number, name) for number, name, _ in offered.people]
    named += [("gallop", number, name) for number, name in offered.gallops]
    return Known(horses, by_name, by_number, offered, Names({(what, number): name for what, number, name in named}))


def _numbers(horse: Horse, name: str) -> Iterable[str]:
    """Return the numbers by which a horse is known; a life number does as its passport's."""
    said = [horse.microchip] if name == "microchip" else [horse.passport, horse.life_number]
    return {plain_name(number) for number in said if plain_name(number)}


def _fits(horse: Horse, said: Mapping[str, str]) -> bool:
    year, dam = said.get("foaled", ""), said.get("dam", "")
    if year and year != str(horse.foaled):
        return False
    return not (dam and horse.dam) or plain_name(dam) == plain_name(horse.dam)


def _doubtful(heading: str, typed: str, found: Sequence[Horse], *, any_fits: bool) -> CellRefusedError:
    described = "; ".join(f"{horse.name}, foaled {horse.foaled}, out of {horse.dam or '?'}" for horse in found[:4])
    if not any_fits:
        reason = _("year or dam are not those of the books: {described}", described=described)
        return CellRefusedError(heading, typed, reason, _("correct the row, or the horse's page"))
    reason = _("{count} horses can be meant: {described}", count=len(found), described=described)
    return CellRefusedError(
        heading, typed, reason, _("add a column with the year of foaling, the dam or the microchip")
    )


def _parted(typed: str) -> list[str]:
    for sign in (";", "/", "&", " and "):
        typed = typed.replace(sign, ",")
    return typed.split(",")
