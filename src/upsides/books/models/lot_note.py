"""What people of the yard say of a lot: whether it is on the shortlist, and notes. Rows are added, never changed."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from upsides.books.models.person import Person
from upsides.books.models.sale import Lot


class Mark(models.Model):
    """A lot put on the yard's shortlist, or taken off; the last mark of a lot counts."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="marks")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(db_index=True)
    on = models.BooleanField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        """Order."""

        ordering = ("recorded_at", "pk")

    def __str__(self) -> str:
        return f"{self.lot_id} {'on' if self.on else 'off'}"


class LotNote(models.Model):
    """What somebody saw of a lot, in that person's words.

    A correction is a new row that `supersedes` the old one; a withdrawal supersedes it and is `withdrawn`.
    `client_id` is made with the page, so that a note sent twice is one. `happened_at` is when it was so, `recorded_at`
    when it was entered.
    """

    class Kind(models.TextChoices):
        """How it was seen."""

        LOOK = "look", _("Look")
        WALK = "walk", _("Walk")
        VETTING = "vetting", _("Vetting")

    client_id = models.UUIDField(unique=True)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="notes")
    kind = models.CharField(max_length=8, choices=Kind)
    text = models.TextField(blank=True)
    author = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(db_index=True)
    supersedes = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    withdrawn = models.BooleanField(default=False)

    class Meta:
        """Order and constraints."""

        ordering = ("recorded_at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(withdrawn=False) | Q(supersedes__isnull=False), name="lot_note_withdraws_another"
            ),
            models.CheckConstraint(condition=Q(withdrawn=True) | ~Q(text=""), name="lot_note_says_something"),
            models.CheckConstraint(condition=Q(kind__in=("look", "walk", "vetting")), name="lot_note_kind_is_known"),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.client_id}"
