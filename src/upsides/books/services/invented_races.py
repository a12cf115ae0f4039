"""Entering what an invented yard's horses are meant for, with what was said of it so far."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid5

from upsides.books.models import Decision, Engagement, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.programme import programme
from upsides.books.services.histories import MANY, become, enter
from upsides.books.services.programmes import keep_invented
from upsides.demo import Books
from upsides.placing import Race, Stage

_DECLARED_BEFORE: Final = timedelta(days=2)
_DECISIONS: Final = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c12")
_OFFICE_HOURS: Final = time(9)
_SAID: Final[Mapping[str, tuple[tuple[Decision.Step, Stage | None], ...]]] = {
    "meant": ((Decision.Step.MEAN, None),),
    "entered": ((Decision.Step.ENTER, Stage.ENTER),),
    "confirmed": ((Decision.Step.ENTER, Stage.ENTER), (Decision.Step.CONFIRM, Stage.CONFIRM)),
    "declared": ((Decision.Step.ENTER, Stage.ENTER), (Decision.Step.DECLARE, Stage.DECLARE)),
}


def enter_races(books: Books, folder: Path, horses: Mapping[str, Horse], trainer: Person, today: date) -> None:
    """Keep the programmes, and enter what horses are meant for; what is declared was entered first.

    Args:
        books: what the yard has in its books.
        folder: of the library.
        horses: by source_horse.
        trainer: who said it.
        today: the yard's day.
    """
    keep_invented(folder, books.programmes)
    known = programme(folder, moments.now()).races
    codes = {(race.title, race.course, race.day): code for code, race in known.items()}
    rows = books.engagements.to_dicts()
    made, since = _rows(rows, horses, codes)
    entered = enter(made, lambda one: since[id(one)])
    become([(one, min(row["day"] - _DECLARED_BEFORE, today), {"state": row["state"]})
            for one, row in zip(entered, rows, strict=True) if one.state != row["state"]])  # fmt: skip
    ahead = [one for one in entered if one.day >= today and one.race_code in known]
    Decision.objects.bulk_create(_decisions(ahead, known, since, trainer), batch_size=MANY)


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
