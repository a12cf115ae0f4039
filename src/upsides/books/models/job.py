"""Long work: one row a job, and what is to be done again and again."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from upsides.books.models.person import Person


class Schedule(models.Model):
    """A job that is asked for every day at a time of the yard's own clock, on the days of the week chosen.

    `weekdays` holds digits, Monday 0: "0123456" is every day.
    """

    kind = models.CharField(max_length=40)
    arguments = models.JSONField(default=dict)
    at = models.TimeField()
    weekdays = models.CharField(max_length=7, default="0123456")
    active = models.BooleanField(default=True)
    next_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Constraints."""

        ordering = ("at", "kind")
        constraints = (models.UniqueConstraint(fields=("kind", "at"), name="schedule_once"),)

    def __str__(self) -> str:
        return f"{self.kind} {self.at:%H:%M}"


class Job(models.Model):
    """One piece of long work.

    A worker that runs it renews `heartbeat_at`; one that falls silent has died, and another takes the job up from
    its `checkpoint`. `progress` is the share done, `doing` says with what.
    """

    class State(models.TextChoices):
        """Where a job is."""

        WAITING = "waiting", _("waiting")
        RUNNING = "running", _("running")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")
        CANCELLED = "cancelled", _("stopped")

    kind = models.CharField(max_length=40)
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    progress = models.FloatField(default=0.0)
    doing = models.CharField(max_length=200, blank=True)
    checkpoint = models.JSONField(null=True, blank=True)
    result = models.JSONField(null=True, blank=True)
    failure = models.TextField(blank=True)
    attempts = models.PositiveIntegerField(default=0)
    worker = models.CharField(max_length=64, blank=True)
    asked_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    schedule = models.ForeignKey(Schedule, on_delete=models.SET_NULL, null=True, blank=True, related_name="jobs")
    asked_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    cancel_asked_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Order and constraints."""

        ordering = ("-asked_at", "-pk")
        indexes = (models.Index(fields=("state", "heartbeat_at"), name="job_by_state"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(progress__gte=0.0, progress__lte=1.0), name="job_progress_is_a_share"
            ),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"
