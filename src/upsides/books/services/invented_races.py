"""Entering what an invented yard's horses are meant for, with what was said of it so far."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid5

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Decision, Engagement, Horse, LetGo, Person, Role
from upsides.books.queries import moments
from upsides.books.queries.programme import programme
from upsides.books.services.histories import MANY, become, enter
from upsides.books.services.let_go import say_why, write_let_go
from upsides.books.services.programmes import keep_invented
from upsides.demo import Books
from upsides.demo.yardbooks.carding import reasons
from upsides.placing import Race, Stage

_DECLARED_BEFORE: Final = timedelta(days=2)
_DECISIONS: Final = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c12")
_OFFICE_HOURS: Final = time(9)
_BOOKED: Final = time(10)
_LET_GO: Final = timedelta(days=1)
_Key = tuple[int, str, str, date]
"""Horse, race, course, day."""
_SAID: Final[Mapping[str, tuple[tuple[Decision.Step, Stage | None], ...]]] = {
    "meant": ((Decision.Step.MEAN, None),),
    "entered": ((Decision.Step.ENTER, Stage.ENTER),),
    "confirmed": ((Decision.Step.ENTER, Stage.ENTER), (Decision.Step.CONFIRM, Stage.CONFIRM)),
    "declared": ((Decision.Step.ENTER, Stage.ENTER), (Decision.Step.DECLARE, Stage.DECLARE)),
}


def enter_races(
    books: Books, folder: Path, horses: Mapping[str, Horse], people: Mapping[str, Person], trainer: Person, today: date
) -> None:
    """Keep the programmes, and enter what horses are meant for; what is declared was entered first, its card came then.

    Args:
        books: what the yard has in its books.
        folder: of the library.
        horses: by source_horse.
        people: by login.
        trainer: who said it.
        today: the yard's day.
    """
    keep_invented(folder, books.programmes)
    known = programme(folder, moments.now()).races
    codes = {(race.title, race.course, race.day): code for code, race in known.items()}
    rows = books.engagements.to_dicts()
    made, since = _rows(rows, horses, codes)
    entered = enter(made, lambda one: since[id(one)])
    cards = _cards(books, horses)
    become([(one, min(row["day"] - _DECLARED_BEFORE, today), {"state": row["state"]} | _card(cards, one, people))
            for one, row in zip(entered, rows, strict=True) if one.state != row["state"]])  # fmt: skip
    ahead = [one for one in entered if one.day >= today and one.race_code in known]
    said = [*_decisions(ahead, known, since, trainer), *_rides(ahead, cards, people, trainer)]
    Decision.objects.bulk_create(said, batch_size=MANY)


def _cards(books: Books, horses: Mapping[str, Horse]) -> dict[_Key, dict[str, Any]]:
    rows = books.cards.to_dicts()
    return {(horses[row["source_horse"]].pk, row["race"], row["course"], row["day"]): row for row in rows}


def _key(one: Engagement) -> _Key:
    return (one.horse_id, one.race, one.course, one.day)


def _card(cards: Mapping[_Key, Mapping[str, Any]], one: Engagement, people: Mapping[str, Person]) -> dict[str, Any]:
    """Return what the card of an engagement says as fields of its row; nothing where there is none."""
    row = cards.get(_key(one))
    if row is None:
        return {}
    plain = {name: row[name] for name in ("draw", "gear", "colours", "leaves_at", "back_at")}
    return plain | {name: people.get(row[name]) for name in ("leads_up", "driver")}


def _rides(
    ahead: Iterable[Engagement], cards: Mapping[_Key, Mapping[str, Any]], people: Mapping[str, Person], trainer: Person
) -> Iterator[Decision]:
    """Yield the jockeys that were booked with the declarations."""
    for one in ahead:
        row = cards.get(_key(one))
        if row is None:
            continue
        at = datetime.combine(one.day - _DECLARED_BEFORE, _BOOKED, UTC)
        yield Decision(
            client_id=uuid5(_DECISIONS, f"{one.horse.horse_key} {one.race_code} jockey"),
            engagement=one,
            step=Decision.Step.JOCKEY,
            by=trainer,
            said_at=at,
            recorded_at=at,
            rider=people.get(row["rider"]) if row["rider"] else None,
            jockey=row["jockey"],
            claim_lb=row["claim_lb"],
        )


@transaction.atomic
def load_let_go(library: Path, seed: int) -> int:
    """Write down the races whose entries closed in the last days, with the chances as they stand, and why for some.

    Args:
        library: folder of the library.
        seed: of the invented world.

    Returns:
        How many horses and races were written; none where some stand already.
    """
    if LetGo.objects.exists():
        return 0
    now, by = clock.now(), Person.objects.filter(posts__role=Role.TRAINER).order_by("pk").first()
    write_let_go(library, moments.now(), now - _LET_GO, now)
    rows = list(LetGo.objects.order_by("pk"))
    for row, why in zip(rows, reasons(seed, len(rows)), strict=True):
        if why is not None and by is not None:
            say_why(row.pk, *why, by)
    return len(rows)


def _rows(
    rows: Iterable[dict[str, Any]], horses: Mapping[str, Horse], codes: Mapping[tuple[str, str, date], str]
) -> tuple[list[Engagement], dict[int, date]]:
    made: list[Engagement] = []
    since: dict[int, date] = {}
    for row in rows:
        told = {name: value for name, value in row.items() if name not in {"since", "source_horse", "state"}}
        later = row["state"] in {Engagement.State.DECLARED, Engagement.State.WITHDRAWN}
        state = Engagement.State.ENTERED if later else row["state"]
        code = codes.get((row["race"], row["course"], row["day"]), "")
        one = Engagement(horse=horses[row["source_horse"]], state=state, race_code=code, **told)
        since[id(one)] = row["since"]
        made.append(one)
    return made, since


def _decisions(
    entered: Iterable[Engagement], known: Mapping[str, Race], since: Mapping[int, date], trainer: Person
) -> Iterator[Decision]:
    for one in entered:
        costs = {due.stage: due.cost for due in known[one.race_code].dues}
        for step, stage in _SAID.get(one.state, ()):
            day = one.day - _DECLARED_BEFORE if step is Decision.Step.DECLARE else since[id(one)]
            at = datetime.combine(day, _OFFICE_HOURS, UTC) - timedelta(hours=1)
            cost = costs.get(stage) if stage else None
            yield Decision(
                client_id=uuid5(_DECISIONS, f"{one.horse.horse_key} {one.race_code} {step}"),
                engagement=one,
                step=step,
                by=trainer,
                said_at=at,
                recorded_at=at,
                cost=None if cost is None else Decimal(str(cost.amount)),
                currency=cost.currency if cost else "",
            )
