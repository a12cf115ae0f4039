"""Files of trackers and heart monitors, and what each horse did by them. Rows are added, never changed."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class Tracker(Remembered):
    """A tracker or heart monitor, by the serial number that its files hold, and the horse that usually wears it."""

    serial = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=60)
    horse = models.ForeignKey(Horse, on_delete=models.SET_NULL, null=True, blank=True, related_name="trackers")

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("name", "pk")
        constraints = (models.CheckConstraint(condition=~Q(serial="") & ~Q(name=""), name="tracker_is_named"),)

    def __str__(self) -> str:
        return self.name


class Recorded(models.Model):
    """A recording that came in: one session of one device, as its file holds it. Files and tracks lie beside the books.

    `sha256` is that of the file, and `part` the number of the recording in it. `messages` tell what was
    lost or mended, each by its code and the values of its sentence; upsides.books.outings reads them, and older ones.
    """

    sha256 = models.CharField(max_length=64)
    part = models.PositiveIntegerField(default=0)
    file = models.CharField(max_length=200)
    format = models.CharField(max_length=8)
    size = models.PositiveBigIntegerField()
    tracker = models.ForeignKey(Tracker, on_delete=models.PROTECT, null=True, blank=True, related_name="recordings")
    sport = models.CharField(max_length=60, blank=True)
    began = models.DateTimeField(null=True, blank=True)
    ended = models.DateTimeField(null=True, blank=True)
    fixes = models.PositiveIntegerField()
    messages = models.JSONField(default=list, blank=True, help_text="a code and the values of its sentence, each")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_at = models.DateTimeField(db_index=True)

    class Meta:
        """Order, index and constraint."""

        ordering = ("-recorded_at", "-pk")
        indexes = (models.Index(fields=("began",), name="recorded_by_beginning"),)
        constraints = (models.UniqueConstraint(fields=("sha256", "part"), name="recorded_once"),)

    def __str__(self) -> str:
        return self.file


class SetAside(models.Model):
    """That a recording of no horse is set aside, or brought back (`on` is not set); of each recording the last counts.

    Rows are added, never changed.
    """

    recorded = models.ForeignKey(Recorded, on_delete=models.PROTECT, related_name="set_aside")
    on = models.BooleanField()
    author = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(db_index=True)

    class Meta:
        """Order."""

        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.recorded_id} {self.on}"


class Outing(models.Model):
    """What a horse did by one recording: its bouts and its heart.

    A correction, most often of the horse, is a new row that `supersedes` the old one; taking a recording from a horse
    supersedes it and is `withdrawn`. `metres` are all that it went, `fast_m` those of fast work. `measured` holds the
    bouts with their furlongs and speeds, and the heart; upsides.books.outings says how.
    """

    class Matched(models.TextChoices):
        """How the horse was found."""

        TRACKER = "tracker", _("it usually wears this tracker")
        LOT = "lot", _("it was out then")
        NAME = "name", _("the file is named for it")
        HAND = "hand", _("somebody said so")

    recorded = models.ForeignKey(Recorded, on_delete=models.PROTECT, null=True, blank=True, related_name="outings")
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, related_name="outings")
    day = models.DateField()
    began = models.DateTimeField()
    matched = models.CharField(max_length=8, choices=Matched)
    metres = models.FloatField()
    fast_m = models.FloatField()
    measured = models.JSONField(default=dict)
    author = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_at = models.DateTimeField(db_index=True)
    supersedes = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by", db_index=False
    )
    withdrawn = models.BooleanField(default=False)

    class Meta:
        """Order, indexes and constraints."""

        ordering = ("began", "pk")
        indexes = (
            models.Index(fields=("horse", "day"), name="outing_by_horse"),
            models.Index(fields=("day",), name="outing_by_day"),
            models.Index(
                fields=("supersedes",), name="outing_by_what_it_corrects", condition=Q(supersedes__isnull=False)
            ),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(withdrawn=False) | Q(supersedes__isnull=False), name="outing_withdraws_another"
            ),
            models.CheckConstraint(
                condition=Q(metres__gte=0) & Q(fast_m__gte=0) & Q(fast_m__lte=models.F("metres") + 1),
                name="outing_fast_is_part",
            ),
        )

    def __str__(self) -> str:
        return f"{self.horse_id} {self.day}"
