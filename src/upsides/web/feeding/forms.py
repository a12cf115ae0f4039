"""What is filled in about the store: a feed's label, a delivery, when a batch was opened and finished."""

from django import forms
from django.utils.translation import gettext_lazy as _

from upsides.books.models import Feed
from upsides.books.services.feed_store import Label


class LabelForm(forms.Form):
    """A feed as its label has it."""

    name = forms.CharField(label=_("What the yard calls it"), max_length=60)
    kind = forms.ChoiceField(label=_("What it is"), choices=Feed.Kind.choices)
    energy = forms.CharField(
        label=_("Energy, MJ a kg as fed"),
        max_length=20,
        help_text=_("Digestible energy, as the label has it, like 12.5."),
    )
    dry_matter = forms.CharField(
        label=_("Dry matter, per cent"),
        max_length=20,
        help_text=_("What is not water: hay about 85, haylage 55 to 70, cubes about 88."),
    )
    starch = forms.CharField(
        label=_("Starch, per cent"),
        max_length=20,
        required=False,
        help_text=_("Leave it empty where the label does not say."),
    )
    protein = forms.CharField(label=_("Protein, per cent"), max_length=20, required=False)

    def typed(self, *, used: bool = True) -> Label:
        """Return what was filled in."""
        return Label(**self.cleaned_data, used=used)


class ChangeForm(LabelForm):
    """A feed that is on the list."""

    used = forms.BooleanField(label=_("In use"), required=False)

    def label_typed(self) -> Label:
        """Return what was filled in."""
        return Label(**self.cleaned_data)


class DeliveryForm(forms.Form):
    """A delivery."""

    delivered_on = forms.DateField(
        label=_("Came on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    kg = forms.CharField(label=_("How much"), max_length=20, help_text=_("Like 500 kg or 1.2 t."))
    number = forms.CharField(
        label=_("Batch number"), max_length=60, required=False, help_text=_("As it stands on the bags or the ticket.")
    )


class MarksForm(forms.Form):
    """When a batch was opened and finished."""

    opened_on = forms.DateField(
        label=_("Opened on"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    finished_on = forms.DateField(
        label=_("Finished on"), required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
