"""What pages on races to come send."""

from datetime import datetime
from uuid import UUID

from django.http import QueryDict

from upsides.books import clock
from upsides.books.models import LetGo
from upsides.books.services.deciding import Said
from upsides.books.services.race_day import Card
from upsides.errors import UnreadableError
from upsides.errors.wording import gettext
from upsides.web.diary.forms import client_id

CERTIFIED = {"yes": True, "no": False}
LONGEST = 40


def said_of(sent: QueryDict, horse: int, code: str) -> Said:
    """Return a decision as a page sent it.

    Raises:
        UnreadableError: a moment, a number or a claim cannot be read.
        EntryRefusedError: it has no number of its own.
    """
    return Said(
        client_id=UUID(str(client_id(sent))),
        horse=horse,
        race_code=code,
        step=sent.get("step", "")[:LONGEST],
        said_at=_moment(sent.get("said_at", "")),
        why=sent.get("why", "").replace("\0", ""),
        certified=CERTIFIED.get(sent.get("certified", "")),
        rider=_number(gettext("rider"), sent.get("rider", "")),
        jockey=sent.get("jockey", "").replace("\0", ""),
        claim_lb=_number(gettext("claim"), sent.get("claim_lb", "")),
        anyway=bool(sent.get("anyway")),
        declared=tuple(
            number for text in sent.getlist("declared") if (number := _number(gettext("fact"), text)) is not None
        ),
    )


def _moment(text: str) -> datetime | None:
    """Read a moment by the yard's clock; None for nothing."""
    if not text.strip():
        return None
    try:
        at = datetime.fromisoformat(text.strip()[:LONGEST])
    except ValueError:
        raise UnreadableError(gettext("moment"), text, "2026-06-01T17:30") from None
    return at if at.tzinfo else at.replace(tzinfo=clock.place().zone)


def _number(field: str, text: str) -> int | None:
    plain = text.strip()[:LONGEST]
    if not plain:
        return None
    if not (plain.isascii() and plain.isdigit() and len(plain) < 10):
        raise UnreadableError(field, text, gettext("a number like 3"))
    return int(plain)


def reason_of(sent: QueryDict) -> tuple[str, str]:
    """Return why a race was passed, and what else is to be remembered.

    Raises:
        UnreadableError: no reason of the list is chosen.
    """
    reason = sent.get("reason", "")
    if reason not in LetGo.Reason.values:
        raise UnreadableError(gettext("reason"), reason, ", ".join(LetGo.Reason.values))
    return reason, sent.get("note", "").replace("\0", "")


def card_of(sent: QueryDict) -> tuple[int, Card]:
    """Return what a card and a journey need of a runner, and the change that the page showed.

    Raises:
        UnreadableError: a number or a moment cannot be read.
    """
    return _number(gettext("change"), sent.get("seen", "")) or 0, Card(
        draw=_number(gettext("draw"), sent.get("draw", "")),
        gear=sent.get("gear", "").replace("\0", ""),
        colours=sent.get("colours", "").replace("\0", ""),
        leads_up=_number("leads_up", sent.get("leads_up", "")),
        driver=_number(gettext("driver"), sent.get("driver", "")),
        leaves_at=_moment(sent.get("leaves_at", "")),
        back_at=_moment(sent.get("back_at", "")),
    )
