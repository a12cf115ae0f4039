"""Tables that were imported, and which rows came of each, so that an import can be undone."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class Intake(Remembered):
    """One import of the yard's own table, done or undone as a whole."""

    class What(models.TextChoices):
        """What its rows are."""

        HORSES = "horses", _("horses")
        MASSES = "masses", _("masses")
        TREATMENTS = "treatments", _("treatments")
        VACCINATIONS = "vaccinations", _("vaccinations")
        BLOODS = "bloods", _("bloods")
        EXERCISE = "exercise", _("exercise")

    what = models.CharField(max_length=12, choices=What)
    file = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    columns = models.JSONField(default=dict)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="intakes")
    at = models.DateTimeField()
    undone_at = models.DateTimeField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order."""

        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.what} from {self.file}"


class Taken(models.Model):
    """A row that came of an import: an entry of the diary, or a horse."""

    intake = models.ForeignKey(Intake, on_delete=models.CASCADE, related_name="rows")
    line = models.PositiveIntegerField()
    entry = models.ForeignKey("books.Entry", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    horse = models.ForeignKey("books.Horse", on_delete=models.CASCADE, null=True, blank=True, related_name="+")

    class Meta:
        """Order and constraints."""

        ordering = ("intake", "line", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(entry__isnull=False, horse__isnull=True)
                | models.Q(entry__isnull=True, horse__isnull=False),
                name="taken_is_one_thing",
            ),
        )

    def __str__(self) -> str:
        return f"line {self.line}"
