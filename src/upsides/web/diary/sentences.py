"""The diary in words, those that a phone needs without signal included."""

from collections.abc import Collection, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.diary import Written


def about_day(entries: Sequence[Written], string: Collection[int]) -> str:
    """Return how much of the string has an entry today, when the last one was, and of how many horses besides."""
    if not entries:
        return _("Nothing has been entered today.")
    told = {one.entry.horse_id for one in entries if one.stands and one.entry.horse_id}
    seen, others, horses = len(told & set(string)), len(told - set(string)), len(string)
    values = {"seen": seen, "horses": horses, "time": f"{max(one.recorded for one in entries):%H:%M}"}
    text = ngettext(
        "%(seen)s of %(horses)s horse has an entry today; the last came at %(time)s.",
        "%(seen)s of %(horses)s horses have an entry today; the last came at %(time)s.",
        horses,
    )
    if not others:
        return text % values
    more = ngettext(
        "One horse that is not in training has one too.",
        "%(others)s horses that are not in training have one too.",
        others,
    )
    return f"{text % values} {more % {'others': others}}"


def done(one: Written) -> str:
    """Return what was just written, said back."""
    values = {"horse": one.horse, "words": one.words}
    if not one.horse:
        return one.words or _("Withdrawn; it stays to be read.")
    if one.entry.withdrawn:
        return _("Withdrawn for %(horse)s; it stays to be read.") % values
    if one.entry.supersedes_id:
        return _("Corrected for %(horse)s: %(words)s") % values
    return _("Entered for %(horse)s: %(words)s") % values


def about_conflicts(number: int) -> str:
    """Return how many entries were corrected in more than one way."""
    if not number:
        return _("No corrections disagree.")
    text = ngettext(
        "%(number)s entry was corrected in more than one way; somebody has to say what is right.",
        "%(number)s entries were corrected in more than one way; somebody has to say what is right.",
        number,
    )
    return text % {"number": number}


def phone_words() -> dict[str, str]:
    """Return what the phone says by itself, with {places} that it fills in."""
    return {
        "no_signal": _(
            "No signal. What you enter is kept on this phone and sent when signal is back. "
            "What others have entered meanwhile cannot be known here."
        ),
        "back": _("Signal is back."),
        "held": _("The yard's computer does not take entries at the moment: {reason} They are kept on this phone."),
        "held_up": _("The yard's computer does not take entries at the moment. They are kept on this phone."),
        "insecure": _(
            "The address of this page does not begin with https, so nothing can be kept on this phone without signal. "
            "With signal, what you enter goes straight into the books."
        ),
        "unknown_phone": _(
            "This browser keeps no entries without signal. What you enter goes straight into the books."
        ),
        "unkept": _(
            "This phone could not keep the entry, so nothing was entered. Make room on the phone and try again."
        ),
        "kept": _("It is kept on this phone, and sent as soon as that can be done."),
        "changed": _("Somebody else uses this phone now. Load the page again and enter it in your own name."),
        "signed_out": _("You are no longer signed in. What was kept on this phone is in the books all the same."),
        "as": _("Entering as {name}."),
        "nobody": _(
            "Nobody is signed in on this phone, and signing in needs signal. "
            "Entries that wait here are sent when it is back."
        ),
        "given": _("Somebody gave something today already. {given} Press once more if it is given again."),
        "given_unknown": _(
            "Without signal this phone cannot know whether somebody else has given it already. "
            "Ask, then press once more."
        ),
        "no_horse": _("Choose the horse first."),
        "no_horses": _("The list of horses is not on this phone yet; it comes with the first page that has signal."),
        "waits": _("{count} entry of {name} waits."),
        "wait": _("{count} entries of {name} wait."),
        "impossible": _("{typed} cannot be right: it lies between {spans}."),
        "between": _("{low} and {high} {unit}"),
        "or": _("{one}, or {other}"),
        "empty": _("Fill this in first."),
        "waiting": _("Waiting to be sent."),
        "refused": _("Not taken: {reason}"),
        "withdrawal": _("Withdrawn: {what}"),
        "correction": _("Corrected: {what}"),
        "value": _("{kind}: {typed}"),
    }
