"""What is filled in of each kind of line that is kept of a horse, and how a line stands in its form."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Caution, Declarable, Horse, Move, OfficialMark, Person, Share, Skill
from upsides.books.services.ledgers import Line, part_of
from upsides.web.horses.forms import day_field, number_field, text_field


class LineForm(forms.Form):
    """One line; a subclass a kind. The names of its fields are those of the table unless `values` says otherwise."""

    seen = number_field()

    def values(self) -> dict[str, Any]:
        """Return the fields of the table."""
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}

    @staticmethod
    def initial_of(line: Any) -> dict[str, Any]:
        """Return what the form starts with for a line."""
        return {field.name: getattr(line, field.name) for field in line._meta.fields}


class MoveForm(LineForm):
    """Where a horse goes."""

    to = forms.ChoiceField(label=_("Where to"), choices=Move.To.choices)
    first_day = day_field(_("From"))
    note = text_field(_("Where exactly, or why"), 200)


class NewMoveForm(MoveForm):
    """Where a horse goes, written down anew."""

    empty_box = forms.BooleanField(
        label=_("Its box is free from that day"), required=False, help_text=_("Otherwise the box is kept for it.")
    )

    def values(self) -> dict[str, Any]:
        """Return the fields of the table."""
        return {name: value for name, value in super().values().items() if name != "empty_box"}


class MarkForm(LineForm):
    """A mark that an authority gave."""

    value = forms.IntegerField(label=_("Official mark, lb"), min_value=0, max_value=200)
    ground = forms.ChoiceField(label=_("For"), choices=OfficialMark.Ground.choices)
    country = forms.CharField(label=_("Country"), max_length=3, help_text=_("Its code, like GB or IRE."))
    effective = day_field(_("Holds from"))


class DeclarableForm(LineForm):
    """Something that must be declared."""

    what = forms.ChoiceField(label=_("What"), choices=Declarable.What.choices)
    happened_on = day_field(_("Done, or worn first, on"))
    declared_on = day_field(_("Declared on"), required=False, hint=_("Empty until the authority has been told."))


class ShareForm(LineForm):
    """What part of a horse somebody owns."""

    owner = forms.TypedChoiceField(label=_("Owner"), coerce=int, help_text=_("One of those entered under People."))
    part = forms.CharField(label=_("Part"), max_length=20, help_text=_("1 for the whole; else like 1/3, 25% or 0.25."))
    kind = forms.ChoiceField(label=_("How it is owned"), choices=Share.Kind.choices)
    managing = forms.BooleanField(label=_("Decides for the horse and is written to"), required=False)
    leased_from = forms.TypedChoiceField(label=_("Leased from"), required=False, coerce=int, empty_value=None)
    first_day = day_field(_("From"))
    last_day = day_field(_("To"), required=False, hint=_("The last day; empty where no end is known."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        owners = Person.objects.filter(erased_at=None, posts__role="owner").distinct().order_by("name")
        people = list(owners.values_list("pk", "name"))
        self.fields["owner"].choices = people  # type: ignore[attr-defined]
        self.fields["leased_from"].choices = [("", _("nobody")), *people]  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        """Return the fields of the table."""
        given = super().values()
        part = part_of(given.pop("part"))
        people = {"owner_id": given.pop("owner"), "leased_from_id": given.pop("leased_from")}
        return given | people | {"numerator": part.numerator, "denominator": part.denominator}

    @staticmethod
    def initial_of(line: Any) -> dict[str, Any]:
        """Return what the form starts with for a share."""
        given = LineForm.initial_of(line)
        part = str(Fraction(line.numerator, line.denominator))
        return given | {"part": part, "owner": line.owner_id, "leased_from": line.leased_from_id or ""}


class CautionForm(LineForm):
    """What whoever handles or rides a horse must know."""

    about = forms.ChoiceField(label=_("When"), choices=Caution.About.choices)
    text = forms.CharField(label=_("What to take care of"), max_length=200)
    skill = forms.TypedChoiceField(
        label=_("Whom it takes to ride it"), coerce=int, choices=[(0, _("no more than usual")), *Skill.choices[1:]]
    )
    heaviest_kg = forms.FloatField(
        label=_("Heaviest rider it carries, kg"), required=False, min_value=30, max_value=150,
        help_text=_("With tack, as riders are weighed here; empty for anybody."),
    )  # fmt: skip
    apart = forms.BooleanField(label=_("Does not go out with the other sex"), required=False)
    apart_from = forms.TypedChoiceField(
        label=_("Does not go out with"), required=False, coerce=int, empty_value=None,
        help_text=_("Another horse, with which it fights for one; lots are planned so."),
    )  # fmt: skip
    not_by = forms.TypedChoiceField(label=_("Is not ridden by"), required=False, coerce=int, empty_value=None)
    first_day = day_field(_("From"))
    last_day = day_field(_("To"), required=False, hint=_("The last day; empty while it holds."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = Horse.objects.filter(left=None).order_by("name").values_list("pk", "name")
        riders = Person.objects.filter(erased_at=None, posts__role="rider").distinct().order_by("name")
        none = ("", _("nobody"))
        self.fields["apart_from"].choices = [("", _("none")), *others]  # type: ignore[attr-defined]
        self.fields["not_by"].choices = [none, *riders.values_list("pk", "name")]  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        """Return the fields of the table."""
        given = super().values()
        return given | {"apart_from_id": given.pop("apart_from"), "not_by_id": given.pop("not_by")}

    @staticmethod
    def initial_of(line: Any) -> dict[str, Any]:
        """Return what the form starts with for a caution."""
        who = {"apart_from": line.apart_from_id or "", "not_by": line.not_by_id or ""}
        return LineForm.initial_of(line) | who


@dataclass(frozen=True, slots=True)
class Section:
    """One kind of line.

    Args:
        model: its table.
        form: what is filled in to correct one.
        title: above the form of a new one.
        change: above the form of one that stands.
        new_form: what is filled in for a new one, where that differs.
    """

    model: type[Line]
    form: type[LineForm]
    title: Promise
    change: Promise
    new_form: type[LineForm] | None = None


SECTIONS: Final[Mapping[str, Section]] = {
    "moves": Section(Move, MoveForm, _("Where does it go?"), _("Correct a move"), NewMoveForm),
    "marks": Section(OfficialMark, MarkForm, _("A new official mark"), _("Correct an official mark")),
    "declare": Section(Declarable, DeclarableForm, _("Something to declare"), _("Declared, or correct it")),
    "owners": Section(Share, ShareForm, _("A new owner or part"), _("Correct or end a part")),
    "cautions": Section(Caution, CautionForm, _("A new caution"), _("Correct or end a caution")),
}
"""Every kind of line by its word in addresses."""

FIELDS: Final[Mapping[str, str]] = {"numerator": "part", "denominator": "part"}
"""Fields of tables that a form calls something else."""
