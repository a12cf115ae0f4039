"""What a kind of entry has to say of itself."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, ClassVar, Self

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from upsides.books.diary.fields import NAMELESS, Field, Names, Row
from upsides.books.models import Role
from upsides.errors import EntryRefusedError
from upsides.errors.wording import gettext

STAFF = frozenset(Role) - {Role.OWNER}
"""Those who work in the yard or come there to work."""


class Kind:
    """A kind of entry: a frozen dataclass whose attributes are the values that are kept, named as its `fields`.

    `about` is what such an entry is about: a horse, a gallop, or the yard. `group` is under which heading pages offer
    it. `offered` is whether the diary's own form does; a kind that it does not offer has a page of its own. `judgement`
    is whether it is an opinion, which everybody forms before reading what others entered of the same horse. `by` are
    the roles that may enter it, `readers` those that may read it. `dose` is whether giving it twice does harm, so
    that a second one on a day is warned of.
    """

    name: ClassVar[str]
    title: ClassVar[str | Promise]
    fields: ClassVar[tuple[Field, ...]] = ()
    about: ClassVar[str] = "horse"
    group: ClassVar[str] = ""
    offered: ClassVar[bool] = True
    judgement: ClassVar[bool] = False
    dose: ClassVar[bool] = False
    by: ClassVar[frozenset[Role]] = STAFF
    readers: ClassVar[frozenset[Role]] = STAFF

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read values as typed.

        Raises:
            EntryRefusedError: a value cannot be right.
        """
        read = {field.name: field.read(values.get(field.name)) for field in cls.fields}
        for name in values.keys() - read.keys():
            reason = gettext("an entry of the kind {name} holds no such value", name=cls.name)
            raise EntryRefusedError(str(name)[:40], str(values[name])[:40], reason, gettext("leave it out"))
        entry = cls(**read)
        entry.check()
        return entry

    def check(self) -> None:
        """Refuse values that cannot be right together.

        Raises:
            EntryRefusedError: they cannot.
        """

    @classmethod
    def kept_as(cls, values: Mapping[str, Any]) -> Self:
        """Return an entry from what the diary keeps, without judging it anew."""
        return cls(**values)

    def words(self, names: Names = NAMELESS) -> str:
        """Return the entry as a sentence: its title, and what was said in it."""
        parts = [field.phrase(value, names) for field, value in self.said()]
        told = {"title": self.title, "parts": "; ".join(parts).removesuffix(".")}
        return _("%(title)s: %(parts)s.") % told if parts else _("%(title)s.") % told

    def said(self) -> list[tuple[Field, Any]]:
        """Return the fields of which something was said, with what."""
        values = ((field, getattr(self, field.name)) for field in self.fields)
        return [(field, value) for field, value in values if not _nothing(value)]

    def outline(self) -> str:
        """Return what of the entry may be read by anybody; of a judgement less than its words."""
        closed = self.judgement or self.readers != STAFF
        return _("%(title)s, entered.") % {"title": self.title} if closed else self.words()

    def typed(self) -> dict[str, str]:
        """Return each value as somebody would type it, for correcting."""
        return {field.name: field.typed(getattr(self, field.name)) for field in self.fields}

    def kept(self) -> dict[str, Any]:
        """Return the values as the diary keeps them; what was not said is not there."""
        kept = asdict(self)  # type: ignore[call-overload]  # every kind is a dataclass
        return {name: value for name, value in kept.items() if not _nothing(value)}

    def rows(self) -> list[tuple[str, int]]:
        """Return the rows that the entry names: what they are (person, gallop, horse) and their numbers."""
        fields = (field for field in self.fields if isinstance(field, Row))
        return [(field.of, number) for field in fields for number in field.rows(getattr(self, field.name))]


def _nothing(value: Any) -> bool:
    """Return whether nothing was said; a nought is something."""
    return value is None or value is False or value in ("", [])
