"""What follows where a card and what was said of ours differ, in words."""

from django.utils.text import get_text_list
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.models import Decision
from upsides.books.queries.engaged import Engaged
from upsides.books.queries.moments import Moment
from upsides.books.queries.off_the_card import Gaps
from upsides.books.queries.placing import ways_in
from upsides.placing import Race, Terms
from upsides.web.programme.words import at_course, day


def gap_words(found: Gaps, race: Race, terms: Terms, moment: Moment) -> list[str]:
    """Return the sentences: who is not on the card and what that means; whom it names without a word here."""
    told = [_still(one) for one in found.still]
    if found.missing:
        names = [f"{one.horse.name} ({one.engagement.get_state_display()})" for one in found.missing]
        who = {"names": get_text_list(names, _("and"))}
        told.append(_settled(who) if found.settled else _open(who, race, terms, moment))
    if found.unsaid:
        who = {"names": get_text_list(list(found.unsaid), _("and"))}
        told.append(_("The card names %(names)s of ours, of which nothing was written down for this race: write down "
                      "what was said, so that costs and deadlines are told.") % who)  # fmt: skip
    return told


def _still(one: Engaged) -> str:
    """Return what it means that a horse is on the card after it was taken out: the authority may not know of it."""
    out = [said for said in one.decisions if said.step == Decision.Step.WITHDRAW]
    told = {"name": one.horse.name, "day": day(out[-1].said_at.astimezone(clock.place().zone).date()) if out else ""}
    text = _("%(name)s was taken out here on %(day)s; the card still names it.") if out else _(
        "%(name)s stands as taken out here; the card still names it.")  # fmt: skip
    return f"{text % told} {_('Ask the authority whether the withdrawal arrived, then correct the card.')}"


def _settled(who: dict[str, str]) -> str:
    return _("The card does not name %(names)s: it has no run as the card stands, and no chance is told. Ask the "
             "authority whether it went out or its declaration did not arrive; then correct the card, or take the "
             "horse out here, for its jockey and its journey still stand.") % who  # fmt: skip


def _open(who: dict[str, str], race: Race, terms: Terms, moment: Moment) -> str:
    text = _("The entries that are written down do not name %(names)s: ask the authority whether the entry arrived, or "
             "correct the entries.") % who  # fmt: skip
    ways = ways_in(race, moment.at or clock.now(), terms)
    if not ways:
        return f"{text} {_('Entries are closed.')}"
    return f"{text} {_('It can still be entered until %(when)s.') % {'when': at_course(ways[-1])}}"
