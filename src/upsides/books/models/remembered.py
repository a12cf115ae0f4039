"""Tables whose rows may change, and that remember every change by the clock of the books."""

from datetime import datetime

from django.db import models

from upsides.books import clock


class Remembered(models.Model):
    """A row whose changes are dated by the clock of the books, which in an invented yard stands on its own day."""

    class Meta:
        """No table of its own."""

        abstract = True

    @property
    def _history_date(self) -> datetime:
        return clock.now()
