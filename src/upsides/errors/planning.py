"""Plans of mornings and of work: what cannot be right, and rules that no plan can keep together."""

from collections.abc import Callable, Iterable, Sequence
from typing import Final

from upsides.errors.base import FigureRefusedError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined

_WORDS: Final = {
    "rider": "every horse that may not stay on the walker has a rider",
    "weight": "horse {0} carries no more than its limit",
    "skill": "horse {0} is ridden by somebody who rides such horses",
    "hours": "rider {0} keeps to hours and lots",
    "most": "rider {0} has no more lots than agreed",
    "young": "rider {0}, under eighteen, keeps to the limits of the young",
    "size": "lot {0} has no more horses than it takes",
    "gallop": "gallop {0} has no more horses in a lot than it takes",
    "partners": "horses {0} and {1} work together",
    "apart": "horse {0} is kept apart from the other sex",
    "not_with": "horses {0} and {1} never go in one lot",
    "not_by": "horse {0} is not ridden by those who do not ride it",
    "law": "rider {0}, under eighteen, keeps to the hours of work and rest that the law lays down",
    "pin": "horse {0} goes as was fixed by hand",
}


Named = tuple[str, tuple[int, ...]]
"""A rule as its kind and the numbers that it is about."""


def _clash(sets: Sequence[Sequence[str]], without: Sequence[str], *, any_one: bool, behind: Sequence[str] = ()) -> str:
    """Return sets of clashing rules in a sentence; that a plan is left is said only of what was tried."""
    told = joined((joined(one, by="; ") for one in sets), by="; and no plan keeps all of these together: ")
    if any_one:
        return _("no plan keeps all of these together: {told}; give up any one of them and there is a plan", told=told)
    if len(sets) == 1:
        must = _("no plan keeps all of these together: {told}; at least one of them must be given up", told=told)
    else:
        must = _("no plan keeps all of these together: {told}; at least one of each must be given up", told=told)
    if behind:
        must = _(
            "{must}, and that is not always enough, for then this may stay in the way: {behind}",
            must=must, behind=joined(behind, by="; "),
        )  # fmt: skip
    if without:
        return _(
            "{must}; with all of these given up there is a plan: {without}", must=must, without=joined(without, by="; ")
        )
    return must


class MorningRefusedError(FigureRefusedError):
    """A value of a morning, or a price, that cannot be right."""


class LotsClashError(UpsidesError):
    """Rules of a morning that no plan can keep together.

    Args:
        sets: of which none can be kept as a whole, and no rule stands in two.
        without: rules without which there is a plan, where that was looked for.
        any_one: whether there is a plan with any one rule of the only set given up.
        words: has a rule in words where names are known; else it is told by numbers.
    """

    def __init__(
        self,
        sets: Iterable[Sequence[Named]],
        without: Iterable[Named] = (),
        *,
        any_one: bool = False,
        words: Callable[[str, tuple[int, ...]], str] = lambda kind, of: _WORDS[kind].format(*of),
    ) -> None:
        self.sets, self.without, self.any_one = tuple(sets), tuple(without), any_one
        self.rules = tuple(rule for one in self.sets for rule in one)
        super().__init__(
            _clash(
                [[words(*rule) for rule in one] for one in self.sets],
                [words(*rule) for rule in self.without],
                any_one=any_one,
            )
        )


class LotsBrokenError(UpsidesError):
    """A plan that breaks rules of its morning as the books have it by now.

    Args:
        words: what it breaks, each in words.
    """

    def __init__(self, words: Iterable[str]) -> None:
        self.words = tuple(words)
        told = joined(self.words, by="; ")
        super().__init__(
            _("this plan cannot be taken into the list: {told}; change it, or plan the lots again", told=told)
        )


class PlanNotChosenError(UpsidesError):
    """Another plan of a horse's work that cannot be ordered by now.

    Args:
        horse: its name.
        reason: what stands in the way.
    """

    def __init__(self, horse: str, reason: str) -> None:
        super().__init__(
            _(
                "this plan of {horse} cannot be ordered: {reason}; work the string's plan out again and choose then",
                horse=horse,
                reason=reason,
            )
        )


class WorkNotMovedError(UpsidesError):
    """A day of a horse's plan that cannot be moved by hand, or taken back.

    Args:
        horse: its name.
        reason: what stands in the way.
    """

    def __init__(self, horse: str, reason: str) -> None:
        super().__init__(
            _(
                "this work of {horse} cannot be moved: {reason}; choose another day, or look at its plan again",
                horse=horse,
                reason=reason,
            )
        )


class StoppedEarlyError(UpsidesError):
    """A search that was stopped before it had any plan."""

    def __init__(self) -> None:
        super().__init__(_("it was stopped before there was any plan; start it again and give it longer"))


class WorkRefusedError(FigureRefusedError):
    """A value of the routine, or of a horse whose work is planned, that cannot be right."""


class WorkClashError(UpsidesError):
    """Rules of a horse's work that no plan can keep together.

    Args:
        sets: of which none can be kept as a whole, and no rule stands in two.
        words: the same in words.
        without: words of the rules without which there is a plan, where that was looked for.
        any_one: whether there is a plan with any one rule of the only set given up.
        behind: words of further rules that stand in the way where one rule of a set is given up.
    """

    def __init__(
        self,
        sets: Sequence[Sequence[Named]],
        words: Sequence[Sequence[str]],
        without: Sequence[str] = (),
        *,
        any_one: bool = False,
        behind: Sequence[str] = (),
    ) -> None:
        self.rules = tuple(rule for one in sets for rule in one)
        self.words = tuple(rule for one in words for rule in one)
        super().__init__(_clash(words, without, any_one=any_one, behind=behind))
