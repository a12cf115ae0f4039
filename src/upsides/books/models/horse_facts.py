"""What stands of a horse besides its name: official marks, what must be declared, its own cautions."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class OfficialMark(Remembered):
    """A handicap mark that an authority gave a horse, in pounds, from a day on. Our own figure is never one."""

    class Ground(models.TextChoices):
        """For which ground."""

        TURF = "turf", _("turf")
        SYNTHETIC = "synthetic", _("synthetic")
        DIRT = "dirt", _("dirt")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="marks")
    ground = models.CharField(max_length=10, choices=Ground)
    country = models.CharField(max_length=10)
    value = models.PositiveSmallIntegerField()
    effective = models.DateField()

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "effective", "pk")
        constraints = (
            models.UniqueConstraint(fields=("horse", "ground", "country", "effective"), name="mark_once_a_day"),
            models.CheckConstraint(condition=models.Q(value__lte=200), name="mark_is_no_more_than_200"),
            models.CheckConstraint(
                condition=models.Q(ground__in=("turf", "synthetic", "dirt")), name="mark_is_for_a_known_ground"
            ),
        )

    def __str__(self) -> str:
        return f"{self.value} {self.ground} {self.country}"


class Declarable(Remembered):
    """Something that must be declared for the first run after it."""

    class What(models.TextChoices):
        """What it is."""

        GELDED = "gelded", _("gelded")
        WIND_OPERATION = "wind_operation", _("wind operation")
        BLINKERS = "blinkers", _("blinkers first time")
        VISOR = "visor", _("visor first time")
        CHEEKPIECES = "cheekpieces", _("cheekpieces first time")
        HOOD = "hood", _("hood first time")
        EYE_SHIELD = "eye_shield", _("eye shield first time")
        EYE_COVER = "eye_cover", _("eye cover first time")
        TONGUE_STRAP = "tongue_strap", _("tongue strap first time")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="declarables")
    what = models.CharField(max_length=20, choices=What)
    happened_on = models.DateField()
    declared_on = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "happened_on", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(declared_on__isnull=True) | models.Q(declared_on__gte=models.F("happened_on")),
                name="declarable_is_declared_after_it_happened",
            ),
        )

    def __str__(self) -> str:
        return f"{self.what} {self.happened_on}"


class Caution(Remembered):
    """What whoever handles or rides this horse must know.

    `skill` is what riding it takes, 0 for no more than usual; `heaviest_kg` the heaviest rider that it carries. `apart`
    is whether it does not go out with the other sex, `apart_from` a horse that it does not go out with, `not_by`
    somebody who does not ride it.
    """

    class About(models.TextChoices):
        """When it matters."""

        BOX = "box", _("in the box")
        RIDING = "riding", _("ridden")
        SHOEING = "shoeing", _("at shoeing")
        TRAVEL = "travel", _("travelling")
        MEDICINE = "medicine", _("medicines")
        FEED = "feed", _("feed")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="cautions")
    about = models.CharField(max_length=10, choices=About)
    text = models.CharField(max_length=200)
    skill = models.PositiveSmallIntegerField(default=0)
    heaviest_kg = models.FloatField(null=True, blank=True)
    apart = models.BooleanField(default=False)
    apart_from = models.ForeignKey(Horse, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    not_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "about", "pk")
        constraints = (
            models.CheckConstraint(condition=~models.Q(text=""), name="caution_says_something"),
            models.CheckConstraint(condition=models.Q(skill__lte=4), name="caution_asks_for_a_known_skill"),
            models.CheckConstraint(
                condition=models.Q(heaviest_kg__isnull=True) | models.Q(heaviest_kg__gte=30, heaviest_kg__lte=150),
                name="caution_weighs_a_rider",
            ),
            models.CheckConstraint(
                condition=models.Q(apart_from__isnull=True) | ~models.Q(apart_from=models.F("horse")),
                name="caution_keeps_a_horse_from_another",
            ),
        )

    def __str__(self) -> str:
        return self.text
