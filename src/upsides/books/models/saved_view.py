"""A way of looking at a list that somebody keeps."""

from django.db import models

from upsides.books.models.person import Person


class SavedView(models.Model):
    """A list's columns, order and filters under a name of the person's own."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="saved_views")
    page = models.CharField(max_length=40)
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=1000, blank=True)

    class Meta:
        """Order and constraints."""

        ordering = ("name",)
        constraints = (models.UniqueConstraint(fields=("person", "page", "name"), name="saved_view_once"),)

    def __str__(self) -> str:
        return self.name
