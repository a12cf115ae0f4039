"""A phone or computer that entries come from."""

from django.db import models

from upsides.books.models.person import Person


class Device(models.Model):
    """One browser on one phone or computer, known by a token that only it holds.

    `shared` marks a barn phone, on which people change with a tap and a PIN; `person` is whose it is otherwise.
    """

    token_hash = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=60)
    shared = models.BooleanField(default=False)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, blank=True, related_name="devices")
    added_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Order and constraints."""

        ordering = ("name", "pk")
        constraints = (
            models.CheckConstraint(
                condition=models.Q(shared=True, person__isnull=True) | models.Q(shared=False, person__isnull=False),
                name="device_is_shared_or_somebodys",
            ),
        )

    def __str__(self) -> str:
        return self.name


class PinTry(models.Model):
    """One try of a PIN on a barn phone, kept so that guessing can be slowed."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    device = models.ForeignKey(Device, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField()
    right = models.BooleanField()

    class Meta:
        """Order and index."""

        ordering = ("at", "pk")
        indexes = (models.Index(fields=("person", "at"), name="pin_try_by_person"),)

    def __str__(self) -> str:
        return f"{self.person_id} {self.at:%Y-%m-%d %H:%M}"
