"""When people work and ride, and what binds jockeys. What is personal stands in `Person`."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class Shift(Remembered):
    """Hours that somebody works on one day of the week, from a day on to another.

    `weekday` is 0 for Monday; `rides` is whether the person rides work in that shift.
    """

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.PositiveSmallIntegerField()
    starts = models.TimeField()
    ends = models.TimeField()
    rides = models.BooleanField(default=False)
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("person", "weekday", "starts", "pk")
        constraints = (
            models.CheckConstraint(condition=models.Q(weekday__lte=6), name="shift_is_on_a_day_of_the_week"),
            models.CheckConstraint(condition=models.Q(ends__gt=models.F("starts")), name="shift_ends_after_it_starts"),
        )

    def __str__(self) -> str:
        return f"{self.person_id} {self.weekday} {self.starts}"


class DayOff(Remembered):
    """Days on which somebody does not work."""

    class Why(models.TextChoices):
        """Why; more is nobody's business here."""

        DAY_OFF = "day_off", _("day off")
        HOLIDAY = "holiday", _("holiday")
        SICK = "sick", _("off sick")
        COURSE = "course", _("on a course")

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="days_off")
    first_day = models.DateField()
    last_day = models.DateField()
    why = models.CharField(max_length=8, choices=Why)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("first_day", "person", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="day_off_ends_after_it_begins"
            ),
        )

    def __str__(self) -> str:
        return f"{self.person_id} {self.why} {self.first_day}"


class Bond(Remembered):
    """What binds a jockey for some days: riding for an owner first, or not riding at all."""

    class Kind(models.TextChoices):
        """What it is."""

        RETAINER = "retainer", _("retained by an owner")
        SUSPENSION = "suspension", _("suspended")

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="bonds")
    kind = models.CharField(max_length=10, choices=Kind)
    owner = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, blank=True, related_name="retains")
    country = models.CharField(max_length=10, blank=True)
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("first_day", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind="suspension") | models.Q(owner__isnull=False), name="bond_retains_for_somebody"
            ),
        )

    def __str__(self) -> str:
        return f"{self.person_id} {self.kind}"
