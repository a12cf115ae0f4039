"""Where horses stand: boxes in walking order, which horse is in which, and whether it is in training or away."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.remembered import Remembered


class Box(Remembered):
    """One box of a barn. `position` is its place in the walk of evening stables, over all barns.

    A box without a name is "somewhere in the barn": any number of horses may stand there.
    """

    barn = models.CharField(max_length=60)
    name = models.CharField(max_length=20, blank=True)
    position = models.PositiveIntegerField(default=0)
    isolation = models.BooleanField(default=False)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("position", "barn", "name")
        constraints = (
            models.UniqueConstraint(fields=("barn", "name"), name="box_once_in_a_barn"),
            models.CheckConstraint(condition=~models.Q(barn=""), name="box_is_in_a_barn"),
        )

    def __str__(self) -> str:
        return f"{self.barn} {self.name}".strip()


class Stand(Remembered):
    """In which box a horse stands from a day on, until its next row; no box where it left one for none."""

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="stands")
    box = models.ForeignKey(Box, on_delete=models.PROTECT, null=True, blank=True, related_name="stands")
    first_day = models.DateField()

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "first_day", "pk")
        constraints = (models.UniqueConstraint(fields=("horse", "first_day"), name="stand_once_a_day"),)

    def __str__(self) -> str:
        return f"{self.horse_id} in {self.box_id} from {self.first_day}"


class Move(Remembered):
    """Where a horse of the yard is from a day on, until its next row.

    A horse without a row is in training from the day it came. Leaving the yard for good is the horse's `left`.
    """

    class To(models.TextChoices):
        """Where to."""

        TRAINING = "training", _("in training")
        TURNED_OUT = "turned_out", _("turned out")
        PRE_TRAINING = "pre_training", _("in pre-training")
        HOSPITAL = "hospital", _("in an equine hospital")
        AWAY = "away", _("away")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="moves")
    to = models.CharField(max_length=12, choices=To)
    first_day = models.DateField()
    note = models.CharField(max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("horse", "first_day", "pk")
        constraints = (
            models.UniqueConstraint(fields=("horse", "first_day"), name="move_once_a_day"),
            models.CheckConstraint(
                condition=models.Q(to__in=("training", "turned_out", "pre_training", "hospital", "away")),
                name="move_is_to_a_known_place",
            ),
        )

    def __str__(self) -> str:
        return f"{self.horse_id} {self.to} from {self.first_day}"
