"""Verdicts that people called before the tool's was shown."""

from typing import Final

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person

ABOUT: Final = ("fit", "fresh", "first four", "would run", "trip")


class Call(models.Model):
    """One verdict of one person on one question about a horse. Rows are added and never changed.

    It is taken back by a new row that `supersedes` it and is `withdrawn`. `chance` is what the person said. `trip_f`
    is the trip in furlongs that is meant, where the question is the trip. `unseen` is whether this person had not been
    shown the tool's answers about this horse that day. `known` is what the tool held at that moment: its own chance
    (`chance`), the horse's level and its doubt (`level_lb`, `sd_lb`), how far runs spread (`spread_lb`) and the day of
    the fit (`as_of`); what it did not hold is not there.
    """

    class About(models.TextChoices):
        """The questions, as `upsides.condition.called` means them."""

        FIT = "fit", _("fit")
        FRESH = "fresh", _("fresh")
        FIRST_FOUR = "first four", _("first four")
        WOULD_RUN = "would run", _("would run")
        TRIP = "trip", _("trip")

    client_id = models.UUIDField(unique=True)
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="calls")
    author = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="calls")
    about = models.CharField(max_length=10, choices=About)
    chance = models.FloatField()
    trip_f = models.FloatField(null=True, blank=True)
    unseen = models.BooleanField()
    known = models.JSONField(default=dict)
    recorded_at = models.DateTimeField(db_index=True)
    supersedes = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    withdrawn = models.BooleanField(default=False)

    class Meta:
        """Order, index and constraints."""

        ordering = ("recorded_at", "pk")
        indexes = (models.Index(fields=("author", "horse"), name="call_by_author_and_horse"),)
        constraints = (
            models.CheckConstraint(condition=Q(chance__gt=0, chance__lt=1), name="call_says_a_chance"),
            models.CheckConstraint(condition=Q(about__in=ABOUT), name="call_answers_a_known_question"),
            models.CheckConstraint(
                condition=Q(about="trip", trip_f__isnull=False) | (~Q(about="trip") & Q(trip_f__isnull=True)),
                name="call_names_a_trip_where_it_is_about_one",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn=False) | Q(supersedes__isnull=False), name="call_takes_back_another"
            ),
        )

    def __str__(self) -> str:
        return f"{self.author_id} {self.horse_id} {self.about} {self.chance:g}"
