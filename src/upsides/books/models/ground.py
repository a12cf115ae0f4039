"""The yard's gallops, and things that have names: scales, lorries, laboratories."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.remembered import Remembered


class Gallop(Remembered):
    """One gallop, or another place of exercise: its length and how far it rises, in metres.

    `line` is where it runs, from its start to its end: [latitude, longitude, height] of each point, the height None
    where it is not known; empty as long as nobody drew it. `marks` are the distances of its marks from its start, in
    metres, rising; empty where there are none, and then furlongs are taken from its start. `slots` is the most
    horses on it in a morning.
    """

    class Surface(models.TextChoices):
        """What it is made of."""

        TURF = "turf", _("turf")
        SYNTHETIC = "synthetic", _("synthetic")
        WOODCHIP = "woodchip", _("woodchip")
        SAND = "sand", _("sand")
        OTHER = "other", _("other")

    name = models.CharField(max_length=60, unique=True)
    surface = models.CharField(max_length=10, choices=Surface)
    length_m = models.PositiveIntegerField(null=True, blank=True)
    rise_m = models.IntegerField(null=True, blank=True)
    line = models.JSONField(default=list, blank=True)
    marks = models.JSONField(default=list, blank=True)
    slots = models.PositiveSmallIntegerField(null=True, blank=True)
    used = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("name",)
        constraints = (models.CheckConstraint(condition=~models.Q(name=""), name="gallop_is_named"),)

    def __str__(self) -> str:
        return self.name


class Thing(Remembered):
    """Something of the yard that entries name, so that it is called the same by everybody."""

    class Kind(models.TextChoices):
        """What it is."""

        SCALE = "scale", _("scale")
        THERMOMETER = "thermometer", _("thermometer")
        LABORATORY = "laboratory", _("laboratory")
        LORRY = "lorry", _("lorry")
        TACK = "tack", _("tack")

    kind = models.CharField(max_length=12, choices=Kind)
    name = models.CharField(max_length=60)
    used = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("kind", "name")
        constraints = (
            models.UniqueConstraint(fields=("kind", "name"), name="thing_once_a_kind"),
            models.CheckConstraint(condition=~models.Q(name=""), name="thing_is_named"),
        )

    def __str__(self) -> str:
        return self.name
