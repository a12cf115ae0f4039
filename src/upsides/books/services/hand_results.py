"""Bringing results by hand into the library, where runs are read from."""

from pathlib import Path

from upsides.books.queries.hand_results import hand_results
from upsides.results import by_hand
from upsides.results.library import Library


def bring_in(folder: Path) -> dict[str, int]:
    """Let the library hold the results by hand that stand in the diary, less those that a table has brought since.

    Returns:
        How many runs of ours stand by hand, of how many results the books know no race, and whether anything changed.

    Raises:
        UpsidesError: there is no library, it cannot be read, or another process is writing to it.
    """
    found = hand_results(folder)
    changed = by_hand.keep(Library.open(folder), *found.frames(), found.down)
    ours = sum(1 for run in found.runs.values() if run.get("file") == by_hand.OURS)
    return {"runs": ours, "without_race": len(found.unmatched), "changed": int(changed)}
