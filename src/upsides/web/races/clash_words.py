"""What reports of a race tell differently, in words: both, which counts, and why."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.report_clashes import Clash, Value, What
from upsides.web.shell.templatetags.words import by_lengths, clock, finish, metres

SUBJECTS: Final[Mapping[What, str | Promise]] = {
    What.PLACE: gettext_lazy("Place of %(horse)s"),
    What.WEIGHT: gettext_lazy("Weight of %(horse)s"),
    What.RUNNERS: gettext_lazy("How many ran"),
    What.BEATEN: gettext_lazy("By how much %(horse)s was beaten"),
    What.TIME: gettext_lazy("The winner's time"),
    What.DISTANCE: gettext_lazy("Distance"),
}


def clash_words(one: Clash) -> str:
    """Return one disagreement: what each says, which counts and why."""
    told = {
        "subject": str(SUBJECTS[one.what]) % {"horse": one.horse.name},
        "said": value_words(one.what, one.said),
        "counts": value_words(one.what, one.counts),
        "of": one.of.name if one.of else one.horse.name,
        "by": one.by.name if one.by else "",
    }
    if one.open:
        return _("%(of)s and %(by)s are both reported in place %(said)s: a dead heat, or one is wrong. Both count as "
                 "they stand until the official result is imported.") % told  # fmt: skip
    if one.by is None:
        return _against_the_table(one, told)
    if one.by == one.horse:
        return _("%(subject)s: %(said)s by the report on %(of)s, %(counts)s by its own. Its own counts until the "
                 "official result is imported.") % told  # fmt: skip
    return _("%(subject)s: %(said)s by the report on %(of)s, %(counts)s by that on %(by)s. The latter counts, since it "
             "stands first, until the official result is imported.") % told  # fmt: skip


def _against_the_table(one: Clash, told: Mapping[str, str]) -> str:
    if one.what is What.DISTANCE:
        return _("%(subject)s: %(said)s by the programme, %(counts)s by the imported result. The imported one counts, "
                 "as the official result of the race as it was run.") % told  # fmt: skip
    return _("%(subject)s: %(said)s by the report on %(of)s, %(counts)s by the imported result. The imported one "
             "counts, as the official result; the report stays in the diary as written.") % told  # fmt: skip


def value_words(what: What, value: Value) -> str:
    """Return a value as pages write it."""
    if what is What.PLACE:
        place = value if isinstance(value, int) else None
        outcome = "finished" if place is not None else str(value)
        return str(finish({"position": place, "outcome": outcome, "dead_heat": False}))
    amount = float(value)
    if what is What.WEIGHT:
        return _("%(pounds)s\u00a0lb") % {"pounds": f"{round(amount, 1):g}"}
    write = {What.BEATEN: by_lengths, What.TIME: clock, What.DISTANCE: metres}
    return str(write[what](amount)) if what in write else f"{amount:g}"
