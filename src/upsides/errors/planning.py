"""Plans of mornings and of work: what cannot be right, and rules that no plan can keep together."""

from collections.abc import Iterable, Mapping
from typing import Final

from upsides.errors.base import FigureRefusedError, UpsidesError

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

OF_WORK: Final = {
    "pin": "{horse} does {order} on {day}, as was fixed by hand",
    "race": "{horse} runs on {day}",
    "lessons": "{horse} has its lessons at the stalls before its first race",
    "gap": "{horse} has {gap} days or more from one fast work or race to the next",
    "rest": "{horse} rests on {rest} of any seven days",
    "limit": "{horse} goes no more than {metres} m at {speed} m/s or faster in {days} days",
    "rider": "nobody rides {horse} on {day}",
    "closed": "gallop {gallop} is shut on {day}",
    "vet": "the vet leaves {horse} no more than {exercises} from {day} to {last}",
    "stand_down": "{horse} stands down from {day} to {last}",
    "slots": "gallop {gallop} takes no more than {most} on {day}",
    "workers": "no more than {most} do fast work on {day}",
    "riders": "no more than {most} are ridden on {day}",
    "partners": "{horse} works upsides only with a horse of about its figure and trip",
}
"""Rules of a horse's work; what their words name is filled in."""


class MorningRefusedError(FigureRefusedError):
    """A value of a morning, or a price, that cannot be right."""


class LotsClashError(UpsidesError):
    """Rules of a morning that no plan can keep together; without any one of them there is a plan.

    Args:
        rules: each as its kind and the numbers that it is about.
        words: each in words where names are known; else it is told by numbers.
    """

    def __init__(self, rules: Iterable[tuple[str, tuple[int, ...]]], words: Iterable[str] | None = None) -> None:
        self.rules = tuple(rules)
        told = "; ".join(words or (_WORDS[kind].format(*of) for kind, of in self.rules))
        super().__init__(f"no plan keeps all of these together: {told}; give up any one of them and there is a plan")


class LotsBrokenError(UpsidesError):
    """A plan that breaks rules of its morning as the books have it by now.

    Args:
        words: what it breaks, each in words.
    """

    def __init__(self, words: Iterable[str]) -> None:
        self.words = tuple(words)
        told = "; ".join(self.words)
        super().__init__(f"this plan cannot be taken into the list: {told}; change it, or plan the lots again")


class StoppedEarlyError(UpsidesError):
    """A search that was stopped before it had any plan."""

    def __init__(self) -> None:
        super().__init__("it was stopped before there was any plan; start it again and give it longer")


class WorkRefusedError(FigureRefusedError):
    """A value of the routine, or of a horse whose work is planned, that cannot be right."""


class WorkClashError(UpsidesError):
    """Rules of a horse's work that no plan can keep together; without any one of them there is a plan.

    Args:
        rules: each as its kind and the numbers that it is about.
        told: of each what its words name: horse, day and the like.
    """

    def __init__(self, rules: Iterable[tuple[str, tuple[int, ...]]], told: Iterable[Mapping[str, object]]) -> None:
        self.rules = tuple(rules)
        self.words = tuple(OF_WORK[kind].format(**named) for (kind, _), named in zip(self.rules, told, strict=True))
        super().__init__(
            f"no plan keeps all of these together: {'; '.join(self.words)}; give up any one of them and there is a plan"
        )
