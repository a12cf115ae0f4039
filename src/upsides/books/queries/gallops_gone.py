"""To which gallop an exercise goes, by where it went; loads nothing of the planner."""

from collections import Counter
from collections.abc import Collection
from datetime import timedelta
from typing import Final

from upsides.books.diary.work import Exercise
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment

LOOKED_BACK: Final = timedelta(days=28)


def gone_to(moment: Moment) -> dict[str, int]:
    """Return the gallop on which an exercise mostly went in four weeks, more than half the time."""
    rows = entries_of(moment, [Exercise.name], moment.day - LOOKED_BACK, moment.day)
    went = Counter(rows.order_by().values_list("values__exercise", "values__gallop"))
    all_of: Counter[str] = Counter()
    for (exercise, _gallop), times in went.items():
        all_of[exercise] += times
    return {one: gallop for (one, gallop), times in went.items() if gallop is not None and 2 * times > all_of[one]}


def gallops_gone_to(moment: Moment, shut: Collection[int]) -> dict[str, int]:
    """Return the gallop on which an exercise mostly went in four weeks, where it is not among those that are shut."""
    return {one: gallop for one, gallop in gone_to(moment).items() if gallop not in shut}
