"""Trackers: what they are called, and which horse usually wears each."""

from django.db import transaction

from upsides.books.models import Horse, Person, Tracker
from upsides.errors import TrackerNameError
from upsides.errors.wording import gettext as _

LONGEST = 60


@transaction.atomic
def change_tracker(tracker: Tracker, name: str, horse: Horse | None, by: Person) -> Tracker:
    """Say what a tracker is called and who usually wears it, from the next recording on; what stands stays.

    Raises:
        TrackerNameError: it has no name, one that is too long, or that of another.
    """
    called = " ".join(name.split())
    if not called or len(called) > LONGEST:
        raise TrackerNameError(name, _("a name has 1 to {longest} letters", longest=LONGEST))
    others = Tracker.objects.exclude(pk=tracker.pk).values_list("name", flat=True)
    if any(other.casefold() == called.casefold() for other in others):
        raise TrackerNameError(name, _("another tracker is called so"))
    if (tracker.name, tracker.horse_id) != (called, horse.pk if horse else None):
        tracker.name, tracker.horse = called, horse
        tracker._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
        tracker.save()
    return tracker
