"""A horse of the yard."""

from django.db import models
from django.db.models import Q


class Horse(models.Model):
    """One horse of the yard's own string.

    `horse_key` is its key in the library of results; one that has never run has the key it will get.
    """

    class Sex(models.TextChoices):
        """The trade's words for sex and age together."""

        COLT = "colt"
        FILLY = "filly"
        HORSE = "horse"
        MARE = "mare"
        GELDING = "gelding"
        RIDGLING = "ridgling"

    horse_key = models.CharField(max_length=200, unique=True)
    name = models.CharField(max_length=100)
    foaled = models.PositiveSmallIntegerField()
    sex = models.CharField(max_length=8, choices=Sex)
    sire = models.CharField(max_length=100, blank=True)
    dam = models.CharField(max_length=100, blank=True)
    joined = models.DateField()

    class Meta:
        """Order and constraints."""

        ordering = ("name",)
        constraints = (
            models.CheckConstraint(condition=~Q(name="") & ~Q(horse_key=""), name="horse_is_named"),
            models.CheckConstraint(condition=Q(foaled__range=(1950, 2150)), name="horse_foaled_in_our_time"),
            models.CheckConstraint(
                condition=Q(sex__in=("colt", "filly", "horse", "mare", "gelding", "ridgling")),
                name="horse_sex_is_a_word_of_the_trade",
            ),
        )

    def __str__(self) -> str:
        return self.name
