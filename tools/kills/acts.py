"""What a writer does to the books, one act after the other: says what it begins, does it, says that it is done.

Lines on the pipe: `B kind token` before, `A kind token` once the books have said that it is committed.
"""

import random
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from uuid import UUID, uuid4

from django.db import connection, transaction
from tools.kills.killing import Say, speaker

from upsides.books.models import Entry, Horse, Person, Role
from upsides.books.services.diary import Draft, correct, record
from upsides.books.services.jobs import ask, cancel
from upsides.books.services.people import add_person

MADE_AT = datetime(2026, 6, 1, 5, 30, tzinfo=UTC)
ROLES = (Role.CARER, Role.RIDER)


def warm_up() -> None:
    """Do each act once and close the database, so that forks of this process find all that they need loaded."""
    author, horses = _found()
    for act in ACTS:
        act(lambda _mark, _kind, _token: None, author, horses)
    connection.close()


def write_books(pipe: int, seed: int, again: Iterable[str]) -> None:
    """Write until killed.

    Args:
        pipe: where to say what was done.
        seed: of the order of acts.
        again: numbers of entries that an earlier writer began and did not see committed; they are sent again.
    """
    say, dice = speaker(pipe), random.Random(seed)  # noqa: S311 (no secret)
    author, horses = _found()
    for token in again:
        _enter(say, author, horses, UUID(token))
    while True:
        dice.choices(ACTS, (6, 3, 3, 2, 1))[0](say, author, horses)


def _found() -> tuple[Person, list[Horse]]:
    return Person.objects.earliest("pk"), list(Horse.objects.order_by("pk"))


def _enter(say: Say, author: Person, horses: list[Horse], number: UUID) -> None:
    """Enter something; the number says which horse, so that the same number is the same entry."""
    say("B", "entry", number)
    record(Draft(number, "looked_at", horses[number.int % len(horses)].pk, {}, MADE_AT), author)
    say("A", "entry", number)


def _entry(say: Say, author: Person, horses: list[Horse]) -> None:
    """Enter something new."""
    _enter(say, author, horses, uuid4())


def _correction(say: Say, author: Person, horses: list[Horse]) -> None:
    """Enter a temperature and correct it: two entries, the second by the first."""
    first, second = uuid4(), uuid4()
    say("B", "measure", first)
    old = record(Draft(first, "temperature", horses[0].pk, {"celsius": "38.2"}, MADE_AT), author)
    say("A", "measure", first)
    say("B", "correction", second)
    correct(old, {"celsius": "38.4"}, author, client_id=second, made_at=MADE_AT)
    say("A", "correction", second)


def _change(say: Say, _author: Person, horses: list[Horse]) -> None:
    """Change a horse; its history gets a row in the same transaction."""
    token = uuid4().hex
    say("B", "change", token)
    with transaction.atomic():
        row = Horse.objects.select_for_update().get(pk=horses[int(token, 16) % len(horses)].pk)
        row.markings = token
        row.save()
    say("A", "change", token)


def _person(say: Say, _author: Person, _horses: list[Horse]) -> None:
    """Enter somebody with two posts: six rows that belong together."""
    token = uuid4().hex
    say("B", "person", token)
    add_person(token, ROLES)
    say("A", "person", token)


def _job(say: Say, author: Person, _horses: list[Horse]) -> None:
    """Ask for a job, which is a row and a place in the queue, and stop it."""
    token = uuid4().hex
    say("B", "job", token)
    asked = ask("check", {"token": token}, author)
    say("A", "job", token)
    cancel(asked, author)


ACTS: tuple[Callable[[Say, Person, list[Horse]], None], ...] = (_entry, _correction, _change, _person, _job)


def counted(kind: str, tokens: set[str]) -> dict[str, int]:
    """Return how often each act that was acknowledged is in the books: 1 where it is there once and whole."""
    return {token: found for token, found in _FOUND[kind]().items() if token in tokens}


def _entries() -> dict[str, int]:
    return dict.fromkeys((str(number) for number in Entry.objects.values_list("client_id", flat=True)), 1)


def _corrections() -> dict[str, int]:
    rows = Entry.objects.filter(supersedes__isnull=False).values_list("client_id", "values")
    return {str(number): int(values == {"celsius": 38.4}) for number, values in rows}


def _changes() -> dict[str, int]:
    past = Horse.history.model
    return _times(past.objects.values_list("markings", flat=True))


def _people() -> dict[str, int]:
    people = Person.objects.filter(name__regex=r"^[0-9a-f]{32}$").prefetch_related("posts")
    return {person.name: int(len(person.posts.all()) == len(ROLES)) for person in people}


def _jobs() -> dict[str, int]:
    from django_tasks_db.models import DBTaskResult

    from upsides.books.models import Job

    queued = _times(str(row["args"][0]) for row in DBTaskResult.objects.values_list("args_kwargs", flat=True))
    jobs = Job.objects.filter(kind="check").values_list("pk", "arguments")
    return {arguments["token"]: queued.get(str(number), 0) for number, arguments in jobs}


def _times(names: Iterable[str]) -> dict[str, int]:
    times: dict[str, int] = {}
    for name in names:
        times[name] = times.get(name, 0) + 1
    return times


_FOUND: dict[str, Callable[[], dict[str, int]]] = {
    "entry": _entries,
    "measure": _entries,
    "correction": _corrections,
    "change": _changes,
    "person": _people,
    "job": _jobs,
}


def half_written() -> list[str]:
    """Return what is there in part: people without their posts, jobs without their place, rows without history."""
    from upsides.books.keeping.check_database import of_database
    from upsides.books.keeping.check_rows import of_constraints, of_diary, of_history

    looks = (of_database, of_constraints, of_diary, of_history)
    wrong = [finding.words for look in looks for finding in look() if not finding.well]
    for kind in ("person", "job", "correction"):
        wrong += [f"{kind} {token} is there {times} times" for token, times in _FOUND[kind]().items() if times != 1]
    return wrong
