"""The stopwatch in words, those that a phone needs without signal included."""

from collections.abc import Sequence
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary.split_fields import FASTEST_MS, SLOWEST_MS, tenths
from upsides.books.diary.work import EXERCISES
from upsides.books.queries.diary import Written

_NUMBERS: Final = (
    gettext_lazy("one"), gettext_lazy("two"), gettext_lazy("three"), gettext_lazy("four"), gettext_lazy("five"),
    gettext_lazy("six"), gettext_lazy("seven"), gettext_lazy("eight"), gettext_lazy("nine"), gettext_lazy("ten"),
    gettext_lazy("eleven"), gettext_lazy("twelve"),
)  # fmt: skip
"""Marks of a work, as a sentence counts them."""


def about_clocked(entries: Sequence[Written]) -> str:
    """Return how many works were clocked today, and when the last of them began."""
    if not entries:
        return _("Nothing has been clocked today.")
    told = {"works": len(entries), "time": f"{max(one.happened for one in entries):%H:%M}"}
    text = ngettext(
        "%(works)s horse has been clocked today, at %(time)s.",
        "%(works)s horses have been clocked today, the last at %(time)s.",
        len(entries),
    )
    return text % told


def about_furlongs(sd_s: float, *, guessed: bool) -> str:
    """Return how well times are known by thumb, and whether some are guessed between marks."""
    if guessed:
        return _("Taken at an even speed where there was no mark; how it went between marks was not clocked.")
    return _("Each is known to about %(sd)s s.") % {"sd": tenths(sd_s)}


def about_gap(other: str, mark: str, seconds: float, sd_s: float) -> str:
    """Return where a horse was against another, with the error of that.

    Args:
        other: name of the other.
        mark: where both were clocked last.
        seconds: how much later it passed there; less than 0 where it was in front.
        sd_s: standard deviation of that.
    """
    told = {"other": other, "mark": mark, "seconds": tenths(abs(seconds)), "sd": tenths(sd_s)}
    if abs(seconds) < 2 * sd_s:
        return _("With %(other)s at %(mark)s, as far as a thumb can tell: %(seconds)s s apart.") % told
    if seconds > 0:
        return _("%(seconds)s s behind %(other)s at %(mark)s, give or take %(sd)s.") % told
    return _("%(seconds)s s in front of %(other)s at %(mark)s, give or take %(sd)s.") % told


def phone_words() -> dict[str, Any]:
    """Return what the phone says by itself, with {places} that it fills in."""
    return _before() | _running() | _afterwards()


def _before() -> dict[str, Any]:
    return {
        "exercises": {key: str(word) for key, word in EXERCISES.items()},
        "numbers": ["", *map(str, _NUMBERS)],
        "already": _("clocked"),
        "choose": _("Choose one or two horses, then press as each passes a mark."),
        "one_one": _("One horse, one mark: press when it passes."),
        "one_many": _("One horse, {marks} marks: press when it passes."),
        "two_one": _("Two horses, one mark: press when each passes."),
        "two_many": _("Two horses, {marks} marks: press when each passes."),
        "not_yours": _("Work is clocked by the trainer, an assistant or the head person."),
        "upsides": _("{one} and {other}"),
        "lot": _("Lot {lot}"),
        "furlongs": _("{furlongs}f"),
        "metres": _("{metres} m"),
        "the_start": _("the start"),
        "hand": _("Others, or in another way"),
        "marks_at": _("Marks at {marks}."),
        "no_mark": _("There is no mark between these."),
        "same_horse": _("That is the same horse twice."),
        "no_horse_chosen": _("Choose a horse first."),
        "insecure": _(
            "The address of this page does not begin with https, so the stopwatch can keep nothing on this phone. "
            "Times can be typed into the diary."
        ),
        "unknown_phone": _(
            "This browser keeps no entries, so the stopwatch does not run. Times can be typed into the diary."
        ),
    }


def _running() -> dict[str, Any]:
    return {
        "next": _("next {mark}"),
        "last_time": _("{mark} in {time}"),
        "through": _("through"),
        "passed": _("{horse} {mark}, {time}"),
        "missed": _("{horse}, {mark} missed"),
        "taken_back": _("Taken back."),
        "started": _("The clock runs."),
        "interrupted": _(
            "This clocking was interrupted. It goes on by the phone's own clock; "
            "times pressed since then are as good as that."
        ),
        "doubt": _(
            "The phone slept, or its clock was set, while this ran: its clocks disagree by {seconds} s. "
            "Times pressed since then are in doubt."
        ),
    }


def _afterwards() -> dict[str, Any]:
    return {
        "limits": [SLOWEST_MS, FASTEST_MS],
        "done": _("Say how much was left, and save."),
        "interrupted_note": _("The clock was interrupted."),
        "doubt_note": _("The phone slept while the clock ran; later times are in doubt."),
        "whole": _("{distance} in {seconds} s"),
        "whole_sections": _("{distance} in {seconds} s ({sections})"),
        "part": _("{mark} {seconds}"),
        "nothing_clocked": _("{horse} was not clocked at any mark, so nothing is saved of it."),
        "nobody_clocked": _("No mark was pressed, so there is nothing to save."),
        "too_odd": _("{horse}: {metres} m in {seconds} s would be {speed} m/s. Leave out the press that slipped."),
        "bad_weight": _("{typed} cannot be read as a weight: write it like 9-2, 58 kg or 128 lb."),
        "throw_away": _("Throw away"),
        "sure": _("Press once more to throw it away"),
        "kept_one": _("{horse}: {said}"),
        "kept_at": _("{time}, kept on this phone"),
    }
