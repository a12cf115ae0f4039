"""The yard whose books these are."""

from django.db import models
from simple_history.models import HistoricalRecords

from upsides.books.models.remembered import Remembered

FORMAT = 4
"""Format of the books that this program writes; 1 held horses only, 2 no boxes."""


class Yard(Remembered):
    """The yard; there is one row, number 1.

    `fixed_day` is the day on which the clock of an invented yard stands still; a real yard has none.
    `zone` is an IANA time zone, `jurisdiction` a country of the rules. Entries up to number `clock_from_entry` were
    recorded while the clock was wrong, and do not hold up later ones. `feed_times` names the feeds of a day in order.
    `fast_most` holds the most horses in fast work on each day of the week, Monday first, None for a day of which it was
    not said; empty where it never was. `rides_each` is how many horses one rider rides in a morning.
    """

    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=60, default="UTC")
    jurisdiction = models.CharField(max_length=10, default="GB")
    fixed_day = models.DateField(null=True, blank=True)
    clock_from_entry = models.PositiveBigIntegerField(default=0)
    feed_times = models.JSONField(default=list)
    fast_most = models.JSONField(default=list, blank=True)
    rides_each = models.PositiveSmallIntegerField(null=True, blank=True)
    format_version = models.PositiveIntegerField(default=FORMAT)

    history = HistoricalRecords()

    class Meta:
        """Constraints."""

        constraints = (models.CheckConstraint(condition=models.Q(pk=1), name="yard_is_one"),)

    def __str__(self) -> str:
        return self.name

    @property
    def invented(self) -> bool:
        """Return whether this is an invented yard, whose clock stands on one day."""
        return self.fixed_day is not None
