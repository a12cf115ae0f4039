"""What is filled in about people."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Horse, Inside, Person, Role, Skill
from upsides.books.queries import moments
from upsides.books.queries.visitors import CALLS_INSIDE, STAFF_INSIDE
from upsides.books.riding import Riding, read_riding, typed, typed_lb
from upsides.books.services.pins import LONGEST
from upsides.web.people.sentences import SIGN_IN

_ANY = ("", _("any"))
_TYPED = forms.TextInput(attrs={"autocomplete": "off"})
_RIDING = ("born", "weight", "skill", "claim", "minimum")
_PIN = {"inputmode": "numeric", "autocomplete": "off"}


class PersonForm(forms.Form):
    """Who somebody is and what for."""

    name = forms.CharField(
        label=_("Name"),
        max_length=120,
        help_text=_("As it is called in the yard."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": _("A person needs a name.")},
    )
    roles = forms.MultipleChoiceField(
        label=_("What for"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one.")},
    )
    barn = forms.CharField(
        label=_("Barn"), max_length=60, required=False, widget=forms.TextInput(attrs={"list": "barns"})
    )
    login = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        required=False,
        help_text=_("Leave it empty for somebody who never signs in. Capitals make no difference."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    email = forms.EmailField(
        label=_("E-mail"), max_length=254, required=False, widget=forms.EmailInput(attrs={"autocomplete": "off"})
    )
    phone = forms.CharField(
        label=_("Phone"), max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel"})
    )
    born = forms.DateField(
        label=_("Born"),
        required=False,
        help_text=_("For the limits on hours under 18."),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    weight = forms.CharField(
        label=_("Weight"),
        max_length=30,
        required=False,
        help_text=_("As 9-2, 9st 2lb, 58 kg or 128 lb."),
        widget=_TYPED,
    )
    skill = forms.TypedChoiceField(label=_("Rides"), choices=Skill.choices, coerce=int, empty_value="", required=False)
    claim = forms.CharField(
        label=_("Claim, lb"),
        max_length=10,
        required=False,
        help_text=_("Of a jockey who claims an allowance."),
        widget=_TYPED,
    )
    minimum = forms.CharField(
        label=_("Least weight"),
        max_length=30,
        required=False,
        help_text=_("The least weight that a jockey rides at, as 8-4 or 53 kg."),
        widget=_TYPED,
    )

    def __init__(self, *args: Any, may_give: Iterable[Role], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        wanted = frozenset(may_give)
        roles = self.fields["roles"]
        roles.choices = [(role.value, role.label) for role in Role if role in wanted]  # type: ignore[attr-defined]

    def who(self) -> list[BoundField]:
        """Return the fields of who somebody is."""
        return [one for one in self if one.name not in _RIDING]

    def riding(self) -> list[BoundField]:
        """Return the fields of what riding takes."""
        return [one for one in self if one.name in _RIDING]

    def entered(self, today: date) -> dict[str, Any]:
        """Return what was filled in, as the books take it.

        Raises:
            RidingRefusedError: something that riding takes cannot be right.
        """
        data = self.cleaned_data
        riding = read_riding(*(data[name] for name in _RIDING), today=today)
        return {name: value for name, value in data.items() if name not in _RIDING} | {"riding": riding}


def riding_as_typed(riding: Riding) -> dict[str, Any]:
    """Return what fills the form so that it says what riding takes of somebody."""
    weights = {"weight": typed(riding.weight_kg), "minimum": typed_lb(riding.minimum_lb)}
    return weights | {"born": riding.born, "skill": riding.skill, "claim": riding.claim_lb or ""}


class PinForm(forms.Form):
    """A new PIN for barn phones."""

    pin = forms.CharField(
        label=_("New PIN for barn phones"),
        max_length=LONGEST,
        help_text=_("4 to 8 digits that others would not guess."),
        widget=forms.TextInput(attrs=_PIN),
        error_messages={"required": _("Enter 4 to 8 digits.")},
    )


class OwnPinForm(PinForm):
    """One's own new PIN, with the password that says that it is oneself."""

    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": _("Enter the password that you sign in with.")},
    )
    field_order = ("password", "pin")


class PeopleFilter(forms.Form):
    """Which people are listed."""

    text = forms.CharField(label=_("Name"), required=False, widget=forms.TextInput(attrs={"type": "search"}))
    role = forms.ChoiceField(label=_("What for"), required=False, choices=[_ANY, *Role.choices])
    barn = forms.ChoiceField(label=_("Barn"), required=False)
    sign_in = forms.ChoiceField(
        label=_("Sign-in"), required=False, choices=[_ANY, *((state.value, words) for state, words in SIGN_IN.items())]
    )

    def __init__(self, *args: Any, barns: Iterable[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["barn"].choices = [_ANY, *((barn, barn) for barn in barns)]  # type: ignore[attr-defined]


_GAIN_BY_ONE = tuple(role for role in Role if role not in STAFF_INSIDE)


class ReleaseForm(forms.Form):
    """What inside information is released, to whom, of which horse."""

    what = forms.MultipleChoiceField(
        label=_("What"),
        choices=Inside.choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one.")},
    )
    to = forms.ChoiceField(label=_("To whom"), help_text=_("An owner sees no more horses by it than his own."))
    horse = forms.ModelChoiceField(
        label=_("Which horse"), queryset=Horse.objects.none(), required=False, empty_label=_("all horses")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["horse"].queryset = moments.in_training(moments.now()).order_by("name")  # type: ignore[attr-defined]
        without = Person.objects.filter(is_active=True, posts__isnull=False)
        people = without.exclude(posts__role__in=CALLS_INSIDE).distinct().order_by("name")
        self.fields["to"].choices = [  # type: ignore[attr-defined]
            (
                _("everybody of a kind"),
                [(f"role-{one.value}", one.label) for one in Role if one not in CALLS_INSIDE],
            ),
            (_("one person"), [(f"person-{number}", name) for number, name in people.values_list("pk", "name")]),
        ]

    def receiver(self) -> dict[str, Any]:
        """Return to whom: a person or a role."""
        kind, _dash, key = self.cleaned_data["to"].partition("-")
        return {"role": Role(key)} if kind == "role" else {"person": Person.objects.get(pk=key)}


class LookedFilter(forms.Form):
    """Which sights are listed."""

    person = forms.ModelChoiceField(
        label=_("Who"), queryset=Person.objects.order_by("name"), required=False, empty_label=_("anybody")
    )
    what = forms.ChoiceField(label=_("What"), required=False, choices=[("", _("anything")), *Inside.choices])
    horse = forms.ModelChoiceField(
        label=_("Horse"), queryset=Horse.objects.order_by("name"), required=False, empty_label=_("any")
    )
    first_day = forms.DateField(label=_("From"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    last_day = forms.DateField(label=_("To"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
