"""What is filled in about tables: a file, and what is to be given out."""

from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.utils.text import capfirst, format_lazy
from django.utils.translation import gettext_lazy as _

from upsides.books.export.tables import offered
from upsides.books.intake.files import MOST_BYTES, MOST_ROWS
from upsides.books.models import Intake

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

MEGABYTES = MOST_BYTES // 1_000_000


class FileForm(forms.Form):
    """A table, and what its rows are."""

    what = forms.ChoiceField(
        label=_("What its rows are"),
        choices=[(value, capfirst(words)) for value, words in Intake.What.choices],
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what its rows are.")},
    )
    file = forms.FileField(
        label=_("The file"),
        help_text=format_lazy(
            _("CSV, TSV or XLSX, of at most {size} MB and {rows} rows; headings near the top."),
            size=MEGABYTES,
            rows=f"{MOST_ROWS:,}",
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
        error_messages={
            "required": _("Choose the file."),
            "empty": _("That file is empty; give one with headings and rows below them."),
        },
    )

    def clean_file(self) -> "UploadedFile[Any]":
        """Refuse a file that is too large before it is read."""
        given = cast("UploadedFile[Any]", self.cleaned_data["file"])
        if (given.size or 0) > MOST_BYTES:
            words = _("That file is too large: %(size)s MB is the most. Divide it into several files.")
            raise forms.ValidationError(words % {"size": MEGABYTES})
        return given


class ExportForm(forms.Form):
    """What is to be given out, and how."""

    what = forms.MultipleChoiceField(
        label=_("Tables"), required=False, choices=[], widget=forms.CheckboxSelectMultiple,
        help_text=_("All of them where none is chosen."),
    )  # fmt: skip
    form = forms.ChoiceField(
        label=_("As"),
        choices=[("xlsx", _("one workbook, a sheet a table")), ("csv", _("CSV files in a ZIP"))],
        initial="xlsx",
    )
    first = forms.DateField(
        label=_("Diary from"), required=False, widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": _("Write a day like 2026-03-21.")},
    )  # fmt: skip
    last = forms.DateField(
        label=_("Diary to"), required=False, widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": _("Write a day like 2026-03-21.")},
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast("forms.MultipleChoiceField", self.fields["what"]).choices = list(offered().items())
