"""What the diary's pages send without a script: an entry, a correction, a decision."""

import json
import re
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Any
from uuid import UUID, uuid4

from upsides.books import clock
from upsides.books.diary import KINDS, Field, Kind, kind_of
from upsides.books.models import Device, Entry
from upsides.books.services.diary import Draft
from upsides.errors import EntryRefusedError
from upsides.web.shell.middleware import VisitedRequest


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
        return json.dumps([astuple(span) for span in self.field.spans])


def filled(kind: type[Kind], typed: Mapping[str, str]) -> list[Filled]:
    """Return a kind's fields with what was typed in them."""
    return [Filled(field, f"{kind.name}-{field.name}", typed.get(field.name, "")) for field in kind.fields]


def offered(typed: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the kinds as a page offers them, with what was typed and refused before."""
    return [
        {
            "name": kind.name,
            "title": kind.title,
            "fields": filled(kind, values_of(typed, kind)),
            "open": kind.name == typed.get("kind"),
        }
        for kind in KINDS.values()
        if kind.offered
    ]


def draft_of(typed: Mapping[str, str]) -> Draft:
    """Return the entry that a form asks for.

    Raises:
        KindUnknownError, EntryRefusedError: it names no kind, or its number is none.
    """
    kind = kind_of(typed.get("kind", ""))
    return Draft(
        client_id=client_id(typed),
        kind=kind.name,
        horse=row_number(typed.get("horse", "")),
        values=values_of(typed, kind),
        made_at=clock.now(),
    )


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
    )


def values_of(typed: Mapping[str, str], kind: type[Kind]) -> dict[str, str]:
    """Return what was typed in the fields of a kind."""
    return {field.name: typed.get(f"{kind.name}-{field.name}", "") for field in kind.fields}


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
        raise EntryRefusedError("number", text[:40], "it is no UUID", "load the page again") from None


def device_for(request: VisitedRequest) -> Device | None:
    """Return the phone or computer that somebody enters from; None where it is neither the barn's nor the person's."""
    device: Device | None = getattr(request, "device", None)
    if device is None or device.person_id not in {None, request.visitor.person.pk}:
        return None
    return device
