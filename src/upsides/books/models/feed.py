"""What is fed: feeds with what their labels say, their batches, and each horse's ration from a day on."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.remembered import Remembered


class Feed(Remembered):
    """One feed. Energy is MJ a kg as fed, dry matter, starch and protein are shares of 1, empty where not known."""

    class Kind(models.TextChoices):
        """What it is."""

        FORAGE = "forage", _("forage")
        CONCENTRATE = "concentrate", _("concentrate")
        SUPPLEMENT = "supplement", _("supplement")

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    energy_mj_kg = models.FloatField()
    dry_matter = models.FloatField()
    starch = models.FloatField(null=True, blank=True)
    protein = models.FloatField(null=True, blank=True)
    used = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("kind", "name")
        constraints = (
            models.CheckConstraint(condition=~models.Q(name=""), name="feed_is_named"),
            models.CheckConstraint(
                condition=models.Q(energy_mj_kg__gte=0) & models.Q(energy_mj_kg__lte=40), name="feed_energy_can_be"
            ),
            models.CheckConstraint(
                condition=models.Q(dry_matter__gt=0) & models.Q(dry_matter__lte=1), name="feed_dry_matter_is_a_share"
            ),
        )

    def __str__(self) -> str:
        return self.name


class FeedBatch(Remembered):
    """One delivery of a feed."""

    feed = models.ForeignKey(Feed, on_delete=models.PROTECT, related_name="batches")
    number = models.CharField(max_length=60, blank=True)
    delivered_on = models.DateField()
    kg = models.FloatField()
    opened_on = models.DateField(null=True, blank=True)
    finished_on = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("feed", "delivered_on", "pk")
        constraints = (models.CheckConstraint(condition=models.Q(kg__gt=0), name="feed_batch_weighs_something"),)

    def __str__(self) -> str:
        return f"{self.feed_id} {self.number}"


class Ration(Remembered):
    """What a horse is fed from a day on, until its next row.

    `amounts` is a list of {"time": name of the feed time, "feed": number of the feed, "kg": amount as fed}.
    """

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="rations")
    first_day = models.DateField()
    amounts = models.JSONField(default=list)
    note = models.CharField(max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "first_day", "pk")
        constraints = (models.UniqueConstraint(fields=("horse", "first_day"), name="ration_once_a_day"),)

    def __str__(self) -> str:
        return f"{self.horse_id} from {self.first_day}"
