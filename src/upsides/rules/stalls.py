"""On which side stall number 1 stands."""

from datetime import date
from typing import Literal

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule


def stall_one_side(
    jurisdiction: str, on: date, course: Literal["left", "right"], *, overrides: Overrides = NONE
) -> tuple[str, Rule]:
    """Return the side on which stall 1 is, seen from behind the stalls, and the rule that says so.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        course: whether the course is left-handed or right-handed; a straight race counts with its course.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
        UnreadableError: the course is neither.
    """
    if course not in {"left", "right"}:
        raise UnreadableError(_("handedness of a course"), course, _("left or right"))
    entry = in_force("stall numbering", jurisdiction, on, overrides)[0]
    return str(entry.body[f"{course}_handed"]), entry.rule
