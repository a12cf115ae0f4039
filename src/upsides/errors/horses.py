"""Horses of the yard, their boxes and what is kept of them: what cannot be so, and what somebody else changed."""

from collections.abc import Sequence

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class HorseTwiceError(UpsidesError):
    """A horse that looks like one that is in the books already.

    Args:
        field: the field in which they agree.
        typed: what was typed there.
        other: name of the other horse.
        number: its number.
    """

    def __init__(self, field: str, typed: str, other: str, number: int) -> None:
        super().__init__(
            _(
                "{field} {typed!r}: {other} (horse {number}) has the same in the books; open that one, or say below "
                "that this is another horse",
                field=field,
                typed=typed,
                other=other,
                number=number,
            )
        )
        self.field, self.typed, self.other, self.number = field, typed, other, number


class ChangedMeanwhileError(UpsidesError):
    """Something was changed by somebody else after the page was loaded, in the same places.

    Args:
        fields: those in which both changes differ.
        by: who changed it, empty where that is not known.
    """

    def __init__(self, fields: Sequence[str], by: str) -> None:
        who = by or _("somebody else")
        what = ", ".join(fields) if fields else _("this")
        super().__init__(
            _(
                "{who} changed {what} while this page was open, so nothing was kept; look at what stands now, and "
                "keep yours again if it is right",
                who=who,
                what=what,
            )
        )
        self.fields, self.by = tuple(fields), by


class MovedMeanwhileError(UpsidesError):
    """A horse that stands somewhere else than the page showed.

    Args:
        horse: its name.
        box: where it stands on that day, empty for nowhere.
    """

    def __init__(self, horse: str, box: str) -> None:
        where = _("stands in {box}", box=box) if box else _("has no box")
        super().__init__(
            _(
                "{horse} {where} by now, so nothing was moved; look again and move it from there",
                horse=horse,
                where=where,
            )
        )
        self.horse, self.box = horse, box


class BoxTakenError(UpsidesError):
    """A box in which another horse stands, or will stand while this one is in it.

    Args:
        box: name of the box.
        horse: name of the other horse.
        number: its number.
        day: first day on which both would be in it.
    """

    field = "box"

    def __init__(self, box: str, horse: str, number: int, day: object) -> None:
        super().__init__(
            _(
                "{box} is {horse}'s on {day}; swap the two, say that both stand there, or choose another box",
                box=box,
                horse=horse,
                day=day,
            )
        )
        self.box, self.horse, self.number, self.day = box, horse, number, day


class BoxRefusedError(UpsidesError):
    """A box that cannot be entered, changed or taken away.

    Args:
        field: the field at fault.
        reason: why not.
        remedy: what to do instead.
    """

    def __init__(self, field: str, reason: str, remedy: str) -> None:
        super().__init__(_("{reason}; {remedy}", reason=reason, remedy=remedy))
        self.field, self.reason, self.remedy = field, reason, remedy


class LineRefusedError(UpsidesError):
    """A line of what is kept of a horse (a move, a mark, a share, a caution) that cannot be right.

    Args:
        field: the field at fault, empty for the line as a whole.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, field: str, reason: str, remedy: str) -> None:
        super().__init__(_("{reason}; {remedy}", reason=reason, remedy=remedy))
        self.field, self.reason, self.remedy = field, reason, remedy


class LineGoneError(UpsidesError):
    """A line, a box or a horse that is not in the books any more."""

    def __init__(self, what: str, number: int) -> None:
        super().__init__(
            _(
                "there is no {what} {number} any more: somebody took it out; load the page before again",
                what=what,
                number=number,
            )
        )
        self.what, self.number = what, number
