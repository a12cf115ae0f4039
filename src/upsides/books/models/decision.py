"""What was said of a horse and a race: who said it and when, what it cost. Rows are added and never changed."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from upsides.books.models.engagement import Engagement
from upsides.books.models.person import Person


class Decision(models.Model):
    """One thing that was decided of an engagement.

    `client_id` is made with the page, so that a button pressed twice says it once. `said_at` is when it was said to
    the authority, `recorded_at` when it was written down here. `cost` is what it cost by the programme.
    A jockey is a person of the books, or `jockey` by name alone; `claim_lb` is what he claims, in pounds.
    `certified` is, of a declared horse that is taken out, whether a vet certified it.
    """

    class Step(models.TextChoices):
        """What was decided."""

        MEAN = "mean", _("meant for it")
        ENTER = "enter", _("entered")
        CONFIRM = "confirm", _("confirmed")
        SUPPLEMENT = "supplement", _("entered late")
        DECLARE = "declare", _("declared")
        WITHDRAW = "withdraw", _("withdrawn")
        JOCKEY = "jockey", _("jockey booked")
        MOVED = "moved", _("moved by the programme")

    client_id = models.UUIDField(unique=True)
    engagement = models.ForeignKey(Engagement, on_delete=models.PROTECT, related_name="decisions")
    step = models.CharField(max_length=10, choices=Step)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    said_at = models.DateTimeField()
    recorded_at = models.DateTimeField(db_index=True)
    cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=10, blank=True)
    rider = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    jockey = models.CharField(max_length=120, blank=True)
    claim_lb = models.PositiveSmallIntegerField(null=True, blank=True)
    certified = models.BooleanField(null=True, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        """Order and constraints."""

        ordering = ("recorded_at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(
                    step__in=("mean", "enter", "confirm", "supplement", "declare", "withdraw", "jockey", "moved")
                ),
                name="decision_is_a_known_step",
            ),
            models.CheckConstraint(
                condition=models.Q(cost__isnull=True) | models.Q(cost__gte=0), name="decision_costs_nothing_or_more"
            ),
        )

    def __str__(self) -> str:
        return f"{self.engagement_id} {self.step}"
