"""What is filled in about a gene test."""

from uuid import UUID, uuid4

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from upsides.books import clock
from upsides.books.diary.gene import GENOTYPES, LONGEST, SITES, WHOM, GeneTest, copies_of
from upsides.books.models import Horse
from upsides.books.services.diary import Draft


class GeneTestForm(forms.Form):
    """A test as a laboratory's letter has it."""

    client_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    whom = forms.ChoiceField(label=_("Who was tested"), choices=WHOM.items(), initial="horse", widget=forms.RadioSelect)
    site = forms.ChoiceField(
        label=_("What was looked for"),
        help_text=_("The letter says which. Both lie in the myostatin gene and nearly always go together."),
        choices=SITES.items(),
        initial="snp",
        widget=forms.RadioSelect,
    )
    genotype = forms.ChoiceField(
        label=_("What was found"),
        choices=[(one, one) for one in GENOTYPES],
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what was found.")},
    )
    laboratory = forms.CharField(
        label=_("Laboratory"),
        help_text=_("Leave it empty where the letter does not say."),
        max_length=LONGEST,
        required=False,
    )

    def __init__(self, horse: Horse, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # what the form takes
        self.horse = horse
        named = {"horse": horse.name, "sire": horse.sire, "dam": horse.dam}
        self._choose("whom", [(whom, told(whom, name)) for whom, name in named.items() if name])
        self._choose("genotype", [(one, copies(one)) for one in GENOTYPES])

    def _choose(self, field: str, choices: list[tuple[str, str]]) -> None:
        self.fields[field].choices = choices  # type: ignore[attr-defined]  # it is a field of choices

    def draft(self) -> Draft:
        """Return the entry that was filled in."""
        given = dict(self.cleaned_data)
        number: UUID = given.pop("client_id")
        return Draft(number, GeneTest.name, self.horse.pk, given, clock.now())


def told(whom: str, name: str) -> str:
    """Return who can have been tested."""
    return gettext("%(whom)s, %(name)s") % {"whom": WHOM[whom], "name": name}


def copies(genotype: str) -> str:
    """Return what can have been found."""
    return gettext("%(genotype)s, or %(copies)s of the insertion") % {
        "genotype": genotype,
        "copies": copies_of(genotype),
    }
