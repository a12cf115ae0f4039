"""What the diary's pages send without a script: an entry, a correction, a decision."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID, uuid4

from django.http import QueryDict

from upsides.books import clock
from upsides.books.diary import GROUPS, KINDS, Field, Kind, kind_of
from upsides.books.diary.fields import Choice, Number, Row, Several
from upsides.books.models import Device, Entry, Role
from upsides.books.queries.names import Lists
from upsides.books.services.diary import Draft
from upsides.errors import EntryRefusedError
from upsides.errors.wording import gettext
from upsides.web.shell.middleware import VisitedRequest

CHIPS: Final = 7
"""More choices than these are a list that opens; so many or fewer stand side by side to be tapped."""


@dataclass(frozen=True, slots=True)
class Filled:
    """A field as a page shows it.

    Args:
        field: the field.
        name: its name in the form.
        value: what stands in it.
    """

    field: Field
    name: str
    value: str

    @property
    def spans(self) -> str:
        """Return the numbers that can be meant, as JSON for the script that checks them."""
        spans = self.field.spans if isinstance(self.field, Number) else ()
        return json.dumps([[span.low, span.high, span.unit, span.aliases] for span in spans])

    @property
    def options(self) -> list[tuple[str, str, bool]]:
        """Return what can be chosen: its value, its words, whether it is chosen."""
        if not isinstance(self.field, Choice | Several):
            return []
        chosen = set(self.value.split(","))
        return [(key, str(words), key in chosen) for key, words in self.field.options.items()]

    @property
    def chips(self) -> bool:
        """Return whether the choices stand side by side."""
        return isinstance(self.field, Several) or 0 < len(self.options) <= CHIPS

    def rows(self, lists: Lists) -> list[tuple[int, str, bool]]:
        """Return the rows that can be chosen: number, name, whether it is chosen."""
        if not isinstance(self.field, Row):
            return []
        chosen = set(self.value.split(","))
        return [(row, name, str(row) in chosen) for row, name in lists.rows(self.field.of, self.field.roles)]


def filled(kind: type[Kind], typed: Mapping[str, str]) -> list[Filled]:
    """Return a kind's fields with what was typed in them."""
    return [Filled(field, f"{kind.name}-{field.name}", typed.get(field.name, "")) for field in kind.fields]


def offered(typed: Mapping[str, str], roles: frozenset[Role]) -> list[dict[str, Any]]:
    """Return the kinds as a page offers them to somebody, by headings, with what was typed and refused before."""
    return [
        {
            "name": group,
            "title": title,
            "kinds": [_offered(kind, typed) for kind in KINDS.values() if _offers(kind, group, roles)],
        }
        for group, title in GROUPS.items()
    ]


def _offers(kind: type[Kind], group: str, roles: frozenset[Role]) -> bool:
    return kind.offered and kind.group == group and bool(kind.by & roles)


def _offered(kind: type[Kind], typed: Mapping[str, str]) -> dict[str, Any]:
    return {
        "name": kind.name,
        "title": kind.title,
        "about": kind.about,
        "dose": kind.dose,
        "fields": filled(kind, values_of(typed, kind)),
        "open": kind.name == typed.get("kind"),
    }


def draft_of(typed: Mapping[str, str]) -> Draft:
    """Return the entry that a form asks for.

    Raises:
        KindUnknownError, EntryRefusedError: it names no kind, or its number is none.
    """
    kind = kind_of(typed.get("kind", ""))
    draft = Draft(client_id(typed), kind.name, None, values_of(typed, kind), made_at=clock.now())
    if kind.about == "gallop":
        return replace(draft, gallop=row_number(typed.get("gallop", "")))
    return replace(draft, horse=row_number(typed.get("horse", "")))


def mended(typed: Mapping[str, str], entry: Entry) -> Draft:
    """Return the correction of an entry that a form asks for, or its withdrawal.

    Raises:
        EntryRefusedError: its number is none.
    """
    return Draft(
        client_id=client_id(typed),
        kind=entry.kind,
        horse=entry.horse_id,
        values=values_of(typed, kind_of(entry.kind)),
        made_at=clock.now(),
        supersedes=entry.client_id,
        withdrawn="withdraw" in typed,
        gallop=entry.gallop_id,
    )


def values_of(typed: Mapping[str, str], kind: type[Kind]) -> dict[str, str]:
    """Return what was typed in the fields of a kind; several answers to one question with commas between them."""
    return {field.name: _typed(typed, f"{kind.name}-{field.name}") for field in kind.fields}


def _typed(typed: Mapping[str, str], name: str) -> str:
    return ",".join(typed.getlist(name)) if isinstance(typed, QueryDict) else typed.get(name, "")


def row_number(text: str) -> int | None:
    """Return the number of a row, None where the text is none."""
    return int(text) if re.fullmatch("[0-9]{1,9}", text) else None


def client_id(typed: Mapping[str, str]) -> UUID:
    """Return the number that a page gave an entry, so that pressing twice enters once; a new one where it gave none.

    Raises:
        EntryRefusedError: it is no such number.
    """
    text = typed.get("client_id", "")
    try:
        return UUID(text) if text else uuid4()
    except ValueError:
        raise EntryRefusedError(
            gettext("number"), text[:40], gettext("it is no UUID"), gettext("load the page again")
        ) from None


def device_for(request: VisitedRequest) -> Device | None:
    """Return the phone or computer that somebody enters from; None where it is neither the barn's nor the person's."""
    device: Device | None = getattr(request, "device", None)
    if device is None or device.person_id not in {None, request.visitor.person.pk}:
        return None
    return device
