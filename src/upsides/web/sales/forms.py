"""What is filled in about a lot."""

from datetime import datetime
from uuid import UUID, uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from upsides.books import clock
from upsides.books.models import LotNote
from upsides.books.services.lot_notes import LONGEST_NOTE, LONGEST_REASON, Noted


class ShortlistForm(forms.Form):
    """Why a lot is put on the shortlist, or taken off."""

    reason = forms.CharField(
        label=_("Why"), max_length=LONGEST_REASON, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class NoteForm(forms.Form):
    """What was seen of a lot."""

    client_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    kind = forms.ChoiceField(
        label=_("How it was seen"),
        choices=LotNote.Kind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose how it was seen.")},
    )
    text = forms.CharField(
        label=_("What was seen"),
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": _("Write what was seen.")},
    )
    when = forms.CharField(
        label=_("When"),
        required=False,
        help_text=_("Leave it empty for now."),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )

    def clean_when(self) -> datetime | None:
        """Read the moment in the yard's own time."""
        text = str(self.cleaned_data["when"]).strip()
        try:
            return datetime.fromisoformat(text).replace(tzinfo=clock.place().zone) if text else None
        except ValueError:
            raise forms.ValidationError(_("Write it like 2026-06-01T17:30.")) from None

    def noted(self) -> Noted:
        """Return the note that was filled in."""
        given = self.cleaned_data
        number: UUID = given["client_id"]
        return Noted(number, given["kind"], given["text"], given["when"])
