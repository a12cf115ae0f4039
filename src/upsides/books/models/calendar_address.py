"""An address at which somebody's calendar program reads what has to be said of races."""

from django.db import models

from upsides.books.models.person import Person


class CalendarAddress(models.Model):
    """A secret address of one person's calendar; only its hash is kept. It works until it is ended."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="calendars")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Order."""

        ordering = ("-made_at", "-pk")

    def __str__(self) -> str:
        return f"calendar of {self.person_id}"
