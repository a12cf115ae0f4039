"""The kind of work that brings results by hand into the library."""

from time import sleep
from typing import Any, Final

from upsides.books.jobs.running import Running
from upsides.books.services.hand_results import bring_in
from upsides.books.services.jobs import ask
from upsides.errors import LibraryBusyError

TRIES: Final = 20
WAIT_S: Final = 3.0
"""An import may hold the library for a while; the nightly fit brings in what a busy evening did not."""


def by_hand(running: Running) -> dict[str, Any]:
    """Let the library hold the results by hand as the diary has them now, and have chances worked out with them.

    Raises:
        LibraryBusyError: an import held the library all the while.
    """
    for turn in range(TRIES):
        running.progress(turn / TRIES, "")
        try:
            done = bring_in(running.folder)
            break
        except LibraryBusyError:
            if turn + 1 == TRIES:
                raise
            sleep(WAIT_S)
    if done["changed"]:
        ask("chances", afresh=True)
    return dict(done)
