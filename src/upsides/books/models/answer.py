"""Answers that a worker made over the whole yard, for pages to read. Rows are added, never changed."""

from typing import Final

from django.db import models

EXERCISES: Final = "exercises"
HEARTS: Final = "hearts"
GALLOPS: Final = "gallops"
SPREADS: Final = "spreads"
GAPS: Final = "gaps"
FORM: Final = "form"
WATCH: Final = "monitoring"
TOGETHER: Final = "together"
SPEEDS: Final = "speeds"
UNRACED: Final = "unraced"
CALLS: Final = "calls"
CHANCES: Final = "chances"
PLAN: Final = "plan"
BLACK_TYPE: Final = "black type"
"""The names of answers: what was asked. Behind that of chances stands the code of a race; that on black type is the
trainer's own, and `made_from` says who gave it.
"""


OF_A_DAY: Final = (WATCH, FORM, EXERCISES, SPREADS, HEARTS, GAPS)
"""Those that a past day can be asked for, what a page shows first before the others."""
LATER: Final = ", later"
"""Behind the name of one that was made later for an earlier day, by what was known at the moment
`made_from["known_at"]`: for the rest of that day it holds as if it had been made then.
"""


class Answer(models.Model):
    """One answer: what was asked (one of the names above), of which day, what came out, and what it was made from.

    `values` are as upsides.books.answers, or for plans upsides.books.lot_answers, writes them. `made_from` says what
    went in, in counts and last days.
    """

    name = models.CharField(max_length=40)
    day = models.DateField()
    values = models.JSONField(default=dict, help_text="sentences in it by code and values")
    made_from = models.JSONField(default=dict)
    recorded_at = models.DateTimeField(db_index=True)

    class Meta:
        """Order, index and constraint."""

        ordering = ("-day", "-recorded_at", "-pk")
        indexes = (models.Index(fields=("name", "day"), name="answer_by_name"),)
        constraints = (models.CheckConstraint(condition=~models.Q(name=""), name="answer_is_named"),)

    def __str__(self) -> str:
        return f"{self.name} {self.day}"
