"""Photographs that entries of the diary show. The pictures lie as files beside the books."""

from django.db import models


class Photo(models.Model):
    """One picture, by the SHA-256 of its file: made smaller, turned upright, and without the place it was taken."""

    sha256 = models.CharField(max_length=64, unique=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    recorded_at = models.DateTimeField()

    class Meta:
        """Order."""

        ordering = ("pk",)

    def __str__(self) -> str:
        return self.sha256[:12]
