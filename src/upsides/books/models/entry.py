"""One entry of the diary."""

from django.db import models
from django.db.models import Q

from upsides.books.models.device import Device
from upsides.books.models.ground import Gallop
from upsides.books.models.horse import Horse
from upsides.books.models.person import Person


class Entry(models.Model):
    """One thing seen, measured or done. Rows are added and never changed; the tables refuse it too.

    A correction is a new row that `supersedes` the old one; a withdrawal supersedes it and is `withdrawn`.
    `client_id` is made on the device, so that an entry sent twice is one entry.
    `happened_at` is when it was so, `made_at` the device's clock when it was entered, `recorded_at` the server's
    when it arrived.
    An entry is about a horse, about a gallop, or about neither, as its kind has it.
    `values` is what the kind of entry holds; `upsides.books.diary` knows the kinds.
    """

    client_id = models.UUIDField(unique=True)
    kind = models.CharField(max_length=40)
    horse = models.ForeignKey(Horse, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    gallop = models.ForeignKey(Gallop, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    author = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="entries")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    happened_at = models.DateTimeField(db_index=True)
    made_at = models.DateTimeField()
    recorded_at = models.DateTimeField(db_index=True)
    values = models.JSONField(default=dict)
    supersedes = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by", db_index=False
    )
    withdrawn = models.BooleanField(default=False)

    class Meta:
        """Order, indexes and constraints."""

        ordering = ("recorded_at", "pk")
        indexes = (
            models.Index(fields=("horse", "happened_at"), name="entry_by_horse"),
            models.Index(fields=("kind", "happened_at"), name="entry_by_kind"),
            models.Index(fields=("horse", "kind", "happened_at"), name="entry_by_horse_and_kind"),
            models.Index(
                fields=("supersedes",), name="entry_by_what_it_corrects", condition=Q(supersedes__isnull=False)
            ),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(withdrawn=False) | Q(supersedes__isnull=False), name="entry_withdraws_another"
            ),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.client_id}"
