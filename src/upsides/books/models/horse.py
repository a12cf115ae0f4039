"""A horse of the yard."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.person import Person
from upsides.books.models.remembered import Remembered


class Horse(Remembered):
    """One horse of the yard's own string.

    `horse_key` is its key in the library of results; one that has never run has the key it will get. `name` is what it
    is called: one that is not `named` yet goes by its dam and year. `joined` and `left` are the days on which it came
    to the yard and left it for good; where it was in between stands in `Move`, its box in `Stand`.
    `foaled` is the year, `foaled_on` the day where that is known. `gelded_on` is none for what is no gelding, and for
    a gelding of which nobody knows when.
    """

    class Sex(models.TextChoices):
        """The trade's words for sex and age together."""

        COLT = "colt", _("colt")
        FILLY = "filly", _("filly")
        HORSE = "horse", _("horse")
        MARE = "mare", _("mare")
        GELDING = "gelding", _("gelding")
        RIDGLING = "ridgling", _("ridgling")

    horse_key = models.CharField(max_length=200, unique=True)
    name = models.CharField(max_length=100)
    foaled = models.PositiveSmallIntegerField()
    sex = models.CharField(max_length=8, choices=Sex)
    sire = models.CharField(max_length=100, blank=True)
    dam = models.CharField(max_length=100, blank=True)
    joined = models.DateField()
    left = models.DateField(null=True, blank=True)
    named = models.BooleanField(default=True)
    foaled_on = models.DateField(null=True, blank=True)
    gelded_on = models.DateField(null=True, blank=True)
    colour = models.CharField(max_length=40, blank=True)
    markings = models.CharField(max_length=400, blank=True)
    passport = models.CharField(max_length=40, blank=True)
    microchip = models.CharField(max_length=15, blank=True)
    life_number = models.CharField(max_length=15, blank=True)
    carer = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="looks_after")

    history = HistoricalRecords()

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
            models.CheckConstraint(
                condition=Q(left__isnull=True) | Q(left__gte=models.F("joined")), name="horse_left_after_it_joined"
            ),
        )

    def __str__(self) -> str:
        return self.name


class Share(Remembered):
    """What part of a horse somebody owns, from a day on.

    `managing` is who decides and is written to; `leased_from` who owns what somebody leases.
    """

    class Kind(models.TextChoices):
        """How it is owned."""

        SOLE = "sole", _("sole owner")
        PARTNERSHIP = "partnership", _("partnership")
        SYNDICATE = "syndicate", _("syndicate")
        LEASE = "lease", _("lease")
        CLUB = "club", _("club")

    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, related_name="shares")
    owner = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="shares")
    numerator = models.PositiveIntegerField()
    denominator = models.PositiveIntegerField()
    kind = models.CharField(max_length=12, choices=Kind, default=Kind.SOLE)
    managing = models.BooleanField(default=False)
    leased_from = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="leases_out")
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Constraints."""

        ordering = ("horse", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(numerator__gte=1) & Q(numerator__lte=models.F("denominator")),
                name="share_is_a_part_of_one",
            ),
        )

    def __str__(self) -> str:
        return f"{self.numerator}/{self.denominator}"
