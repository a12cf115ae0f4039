"""What is seen without measuring: looked at, what was left, droppings, mind, notes."""

from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Choice, Choices, Hash, Line, Names, Text, Tick
from upsides.books.diary.kind import Kind

AS_USUAL: Final = "as_usual"
LEFT: Final[Choices] = {
    "nothing": gettext_lazy("nothing left"),
    "some": gettext_lazy("up to a quarter left"),
    "half": gettext_lazy("about half left"),
    "most": gettext_lazy("three quarters left"),
    "all": gettext_lazy("did not eat"),
}
DROPPINGS: Final[Choices] = {
    AS_USUAL: gettext_lazy("as usual"),
    "few": gettext_lazy("fewer than usual"),
    "none": gettext_lazy("none"),
    "loose": gettext_lazy("loose"),
    "hard": gettext_lazy("hard"),
    "other": gettext_lazy("not as usual"),
}
MIND: Final[Choices] = {
    "settled": gettext_lazy("settled"),
    "bright": gettext_lazy("bright"),
    "keen": gettext_lazy("keen"),
    "wound_up": gettext_lazy("wound up"),
    "worried": gettext_lazy("worried"),
    "dull": gettext_lazy("dull"),
    "sour": gettext_lazy("sour"),
}


@dataclass(frozen=True, slots=True)
class LookedAt(Kind):
    """Somebody looked at the horse. Nothing was measured, so nothing is kept but who and when."""

    name = "looked_at"
    title = gettext_lazy("Looked at")
    group = "seen"


@dataclass(frozen=True, slots=True)
class AsUsual(Kind):
    """Somebody looked at the horse and found it as usual. Nothing was measured here either."""

    name = "as_usual"
    title = gettext_lazy("Looked at, as usual")
    group = "seen"


@dataclass(frozen=True, slots=True)
class FeedLeft(Kind):
    """What a horse left of a feed.

    Args:
        left: of `LEFT`.
        feed: which feed time, empty where that was not said.
    """

    left: str
    feed: str | None = None

    name = "feed_left"
    title = gettext_lazy("Feed left")
    group = "seen"
    fields = (
        Choice(name="left", label=gettext_lazy("How much"), options=LEFT, bare=True),
        Line(name="feed", label=gettext_lazy("Which feed"), needed=False, suggest="feed_time", longest=40, bare=True),
    )


@dataclass(frozen=True, slots=True)
class Droppings(Kind):
    """Droppings.

    Args:
        droppings: of `DROPPINGS`.
        text: more, in words.
    """

    droppings: str
    text: str | None = None

    name = "droppings"
    title = gettext_lazy("Droppings")
    group = "seen"
    fields = (
        Choice(name="droppings", label=gettext_lazy("Droppings"), options=DROPPINGS, bare=True),
        Text(name="text", label=gettext_lazy("What you saw"), needed=False, longest=400),
    )


@dataclass(frozen=True, slots=True)
class Mind(Kind):
    """How a horse is in its mind, as one person sees it: a judgement.

    Args:
        mind: of `MIND`.
        text: more, in words.
    """

    mind: str
    text: str | None = None

    name = "mind"
    title = gettext_lazy("Mind")
    group = "seen"
    judgement = True
    fields = (
        Choice(name="mind", label=gettext_lazy("Today it is"), options=MIND, bare=True),
        Text(name="text", label=gettext_lazy("In what"), needed=False, longest=400),
    )


@dataclass(frozen=True, slots=True)
class Note(Kind):
    """Something in words.

    Args:
        text: 1 to 2000 characters.
    """

    text: str

    name = "note"
    title = gettext_lazy("Note")
    group = "seen"
    fields = (Text(name="text", label=gettext_lazy("What you saw")),)

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the text."""
        return self.text


@dataclass(frozen=True, slots=True)
class Picture(Kind):
    """A photograph; the file lies beside the books under its SHA-256.

    Args:
        picture: SHA-256 of the file.
        text: what it shows.
        for_owner: whether the horse's owners may see it.
    """

    picture: str
    text: str | None = None
    for_owner: bool = False

    name = "picture"
    title = gettext_lazy("Photograph")
    group = "seen"
    offered = False
    fields = (
        Hash(name="picture", label=gettext_lazy("Picture")),
        Text(name="text", label=gettext_lazy("What it shows"), needed=False, longest=400),
        Tick(name="for_owner", label=gettext_lazy("May be shown to the owner")),
    )

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return what the picture shows, and whether owners see it."""
        if self.for_owner:
            told = _("Photograph, shown to the owner: %(text)s"), _("Photograph, shown to the owner.")
        else:
            told = _("Photograph: %(text)s"), _("Photograph.")
        return told[0] % {"text": self.text} if self.text else told[1]
