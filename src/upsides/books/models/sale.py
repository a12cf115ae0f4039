"""Sales and their lots, as their lists have them."""

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.remembered import Remembered

SEXES = tuple(Horse.Sex.values)


class Sale(Remembered):
    """One sale, known by its name and year; `day` is its first day, where the list has it.

    `imported_at` is when its list last changed anything, `sha256` the hash of that file, `file` what it was called.
    """

    name = models.CharField(max_length=100)
    year = models.PositiveSmallIntegerField()
    day = models.DateField(null=True, blank=True)
    imported_at = models.DateTimeField()
    file = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("-year", "name")
        constraints = (
            models.UniqueConstraint(fields=("name", "year"), name="sale_once_a_year"),
            models.CheckConstraint(condition=~Q(name="") & Q(year__range=(1900, 2100)), name="sale_is_named_and_dated"),
        )

    def __str__(self) -> str:
        return f"{self.name} {self.year}"


class Lot(Remembered):
    """One lot, as the list has it; what the list does not say is empty.

    `number` is text, because 12A follows 12. Names carry their country: Alder (IRE). `price` is in `currency`, both as
    printed, none for a lot that was not sold. `removed` says that a later list of the sale no longer has it. Who sells
    and who buys is not kept: that is personal.
    """

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField(max_length=20)
    day = models.DateField(null=True, blank=True)
    name = models.CharField(max_length=100, blank=True)
    sex = models.CharField(max_length=8, choices=Horse.Sex, blank=True)
    foaled = models.PositiveSmallIntegerField(null=True, blank=True)
    colour = models.CharField(max_length=40, blank=True)
    sire = models.CharField(max_length=100, blank=True)
    dam = models.CharField(max_length=100, blank=True)
    dam_sire = models.CharField(max_length=100, blank=True)
    price = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=20, blank=True)
    removed = models.BooleanField(default=False)

    history = HistoricalRecords()

    class Meta:
        """Order and constraints."""

        ordering = ("sale", "pk")
        constraints = (
            models.UniqueConstraint(fields=("sale", "number"), name="lot_once_a_sale"),
            models.CheckConstraint(condition=~Q(number=""), name="lot_is_numbered"),
            models.CheckConstraint(condition=Q(sex__in=("", *SEXES)), name="lot_sex_is_a_word_of_the_trade"),
            models.CheckConstraint(condition=Q(price__isnull=True) | Q(price__gte=0), name="lot_price_is_none_or_more"),
        )

    def __str__(self) -> str:
        return self.number
