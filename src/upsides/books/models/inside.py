"""Inside information: to whom it is released, and who looked at it."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.horse import Horse
from upsides.books.models.person import Person, Role
from upsides.books.models.remembered import Remembered


class Inside(models.TextChoices):
    """What is not for everybody."""

    FIGURES = "figures", _("figures")
    CHANCES = "chances", _("chances")
    PLANS = "plans", _("plans")
    CALLS = "calls", _("calls of others")


class Release(Remembered):
    """Inside information made open to one person or to everybody of a role, for one horse or for all.

    An owner sees no more horses by it than his own.
    """

    what = models.CharField(max_length=10, choices=Inside)
    horse = models.ForeignKey(Horse, on_delete=models.CASCADE, null=True, blank=True, related_name="releases")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, blank=True, related_name="releases")
    role = models.CharField(max_length=12, choices=Role, blank=True)
    given_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        """Constraints."""

        ordering = ("given_at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(person__isnull=False, role="") | (Q(person__isnull=True) & ~Q(role="")),
                name="release_to_a_person_or_a_role",
            ),
        )

    def __str__(self) -> str:
        return f"{self.what} to {self.person or self.role}"


class Sight(models.Model):
    """Somebody was shown inside information: who, when, what, on which page, of which horse where it was one."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)
    what = models.CharField(max_length=10, choices=Inside)
    page = models.CharField(max_length=200)
    horse = models.ForeignKey(Horse, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        """Order."""

        ordering = ("-at", "-pk")

    def __str__(self) -> str:
        return f"{self.person_id} {self.what} {self.page}"
