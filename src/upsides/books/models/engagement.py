"""A race that a horse is meant for, and until when the yard must say so."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.remembered import Remembered


class Engagement(Remembered):
    """One horse and one race. The deadlines are moments; `zone` is the course's, in which they are told."""

    class State(models.TextChoices):
        """How far it has come."""

        MEANT = "meant", _("meant for it")
        ENTERED = "entered", _("entered")
        CONFIRMED = "confirmed", _("confirmed")
        DECLARED = "declared", _("declared")
        WITHDRAWN = "withdrawn", _("withdrawn")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="engagements")
    race = models.CharField(max_length=120)
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

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("day", "off_at", "pk")
        indexes = (models.Index(fields=("day",), name="engagement_by_day"),)
        constraints = (
            models.UniqueConstraint(fields=("horse", "race", "course", "day"), name="engagement_once_a_race"),
            models.CheckConstraint(
                condition=models.Q(state__in=("meant", "entered", "confirmed", "declared", "withdrawn")),
                name="engagement_is_in_a_known_state",
            ),
        )

    def __str__(self) -> str:
        return f"{self.horse_id} {self.course} {self.day}"
