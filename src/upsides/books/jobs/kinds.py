"""The kinds of long work that there are."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from upsides.errors import JobKindUnknownError, JobPartMissingError

if TYPE_CHECKING:
    from upsides.books.jobs.running import Running

Work = Callable[["Running"], dict[str, Any]]
QUICK: Final = "quick"
"""The lane of jobs that somebody waits for and that take no longer than a breath or two: no long job holds them up."""
LONG: Final = "default"
"""The lane of all others."""
FEW: Final = 12
"""Recordings that are read in the quick lane: those of one morning from one tray, not a season's."""


def _never(_arguments: Mapping[str, Any]) -> bool:
    return False


def _always(_arguments: Mapping[str, Any]) -> bool:
    return True


def _few(arguments: Mapping[str, Any]) -> bool:
    return arguments.get("do") == "read" and len(arguments.get("files", ())) <= FEW


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of long work.

    Args:
        name: what rows call it.
        words: what people call it, after "One job is running:".
        button: what the button says that asks for it; empty for what has a page of its own.
        path: module and function that do it, `module:function`; loaded by a worker only.
        turn: jobs of one turn are never done at the same time, by however many workers.
        quick: whether a job with these arguments goes in the quick lane.
    """

    name: str
    words: str | Promise
    button: str | Promise
    path: str
    turn: str
    quick: Callable[[Mapping[str, Any]], bool] = _never

    @property
    def always_quick(self) -> bool:
        """Whether every job of it goes in the quick lane."""
        return self.quick is _always

    def work(self) -> Work:
        """Load and return what does it.

        Raises:
            JobPartMissingError: this program has no such part.
        """
        module, function = self.path.split(":")
        try:
            found: Work = getattr(import_module(module), function)
        except (ModuleNotFoundError, AttributeError) as error:
            raise JobPartMissingError(self.name, str(error)) from error
        return found


_PLACE = "upsides.books.jobs"

KINDS = {
    one.name: one
    for one in (
        Kind("fit", _("the figures"), _("Work out the figures again"), f"{_PLACE}.fits:fit", "fits"),
        Kind("fits", _("the figures of past weeks"), _("Work out past weeks"), f"{_PLACE}.fits:fits", "fits"),
        Kind("backup", _("a backup"), _("Back up"), f"{_PLACE}.care:backup", "books"),
        Kind("check", _("a check of the books"), _("Check the books"), f"{_PLACE}.care:check", "books"),
        Kind("table", _("a table of the yard's own"), "", f"{_PLACE}.tables:table", "tables"),
        Kind(
            "reminders",
            _("letters on deadlines"),
            _("Write letters on deadlines"),
            f"{_PLACE}.races:reminders",
            "races",
        ),
        Kind("let_go", _("races let go"), _("Write down races let go"), f"{_PLACE}.races:let_go", "races"),
        Kind(
            "chances", _("chances in races to come"), _("Work out chances again"), f"{_PLACE}.chances:chances", "races"
        ),
        Kind(
            "by_hand",
            _("results written by hand"),
            _("Bring in results written by hand"),
            f"{_PLACE}.results:by_hand",
            "results",
            _always,
        ),
        Kind("lots", _("the lots of a morning"), "", f"{_PLACE}.lots:lots", "lots", _always),
        Kind("recordings", _("recordings"), "", f"{_PLACE}.recordings:recordings", "recordings", _few),
        Kind(
            "condition",
            _("the condition of the string"),
            _("Work out condition again"),
            f"{_PLACE}.condition:condition",
            "condition",
        ),
        Kind("plans", _("the string's work"), _("Plan the string's work again"), f"{_PLACE}.plans:plans", "plans"),
    )
}
"""Every kind by its name."""


def kind(name: str) -> Kind:
    """Return a kind.

    Raises:
        JobKindUnknownError: there is none of that name.
    """
    try:
        return KINDS[name]
    except KeyError:
        raise JobKindUnknownError(name, sorted(KINDS)) from None


def lane(name: str, arguments: Mapping[str, Any]) -> str:
    """Return the lane of a job; one of a kind that there is no more goes with the long ones."""
    return QUICK if name in KINDS and KINDS[name].quick(arguments) else LONG
