"""Races that one of ours could have run in and did not, as that stood before they were run. Rows are never changed."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person


class LetGo(models.Model):
    """One horse and one race that it was not entered for, or why that was.

    The program writes a row of what was known when entries closed: `known` holds the weight and the chance as they
    stood then, and nothing of it is worked out again. A person's row says why it was passed; the last one counts.
    """

    class Reason(models.TextChoices):
        """Why a race was passed."""

        OTHER_RACE = "other_race", _("another race suits it better")
        NOT_READY = "not_ready", _("not ready")
        TRIP = "trip", _("not its trip")
        GROUND = "ground", _("not its ground")
        WEIGHT = "weight", _("too much weight")
        TOO_GOOD = "too_good", _("the race looked too good")
        COST = "cost", _("cost or travel")
        JOCKEY = "jockey", _("no jockey")
        OWNER = "owner", _("the owner's wish")
        NOT_SEEN = "not_seen", _("nobody thought of it")
        OTHER = "other", _("something else")

    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="let_go")
    race_code = models.CharField(max_length=24)
    race = models.CharField(max_length=120)
    course = models.CharField(max_length=60)
    day = models.DateField()
    known = models.JSONField(default=dict)
    reason = models.CharField(max_length=12, choices=Reason, blank=True)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_at = models.DateTimeField(db_index=True)

    class Meta:
        """Order, index and constraint."""

        ordering = ("day", "recorded_at", "pk")
        indexes = (models.Index(fields=("day", "horse"), name="let_go_by_day"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(by__isnull=True, reason="") | models.Q(by__isnull=False), name="let_go_has_an_author"
            ),
        )

    def __str__(self) -> str:
        return f"{self.horse_id} {self.race}"
