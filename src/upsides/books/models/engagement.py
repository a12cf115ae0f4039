"""A race that a horse is meant for, and until when the yard must say so."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class Engagement(Remembered):
    """One horse and one race. The deadlines are moments; `zone` is the course's, in which they are told.

    `race_code` is the race's in the programme; empty for one that stands in none. `draw`, `gear` and `colours` are what
    the card says of it, `leads_up` who leads it up; it leaves at `leaves_at` with `driver`, back by `back_at`.
    """

    class State(models.TextChoices):
        """How far it has come."""

        MEANT = "meant", _("meant for it")
        ENTERED = "entered", _("entered")
        CONFIRMED = "confirmed", _("confirmed")
        DECLARED = "declared", _("declared")
        WITHDRAWN = "withdrawn", _("withdrawn")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="engagements")
    race = models.CharField(max_length=120)
    race_code = models.CharField(max_length=24, blank=True, db_index=True)
    course = models.CharField(max_length=60)
    country = models.CharField(max_length=10, blank=True)
    zone = models.CharField(max_length=60)
    day = models.DateField()
    off_at = models.DateTimeField(null=True, blank=True)
    distance_m = models.PositiveIntegerField(null=True, blank=True)
    enter_by = models.DateTimeField(null=True, blank=True)
    confirm_by = models.DateTimeField(null=True, blank=True)
    declare_by = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.MEANT)
    draw = models.PositiveSmallIntegerField(null=True, blank=True)
    gear = models.CharField(max_length=80, blank=True)
    colours = models.CharField(max_length=120, blank=True)
    leads_up = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    leaves_at = models.DateTimeField(null=True, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)
    driver = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("day", "off_at", "pk")
        indexes = (models.Index(fields=("day",), name="engagement_by_day"),)
        constraints = (
            models.UniqueConstraint(
                fields=("horse", "race", "course", "day", "race_code"), name="engagement_once_a_race"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=("meant", "entered", "confirmed", "declared", "withdrawn")),
                name="engagement_is_in_a_known_state",
            ),
        )

    def __str__(self) -> str:
        return f"{self.horse_id} {self.course} {self.day}"
