"""Where tasks run: the same answers everywhere, in order, and a stopped run that goes on."""

import os
import sys
from concurrent.futures import Executor
from pathlib import Path

import pytest

from upsides.compute import Ledger, cluster, each, processes, serial
from upsides.errors import DaskMissingError, LedgerError


def square(key: int) -> int:
    return key * key


def fails_at_three(key: int) -> int:
    if key == 3:
        raise ValueError("three")
    return key * key


def test_the_same_here_and_in_processes() -> None:
    """Results come in the order of the keys, whether tasks run here or in processes, which have one thread each."""
    keys = list(range(20))
    with serial() as here:
        mine = list(each(here, square, keys))
    with processes(2) as others:
        theirs = list(each(others, abs, keys))
        threads = list(each(others, os.getenv, ["OMP_NUM_THREADS"]))
    assert mine == [(key, key * key) for key in keys]
    assert theirs == [(key, key) for key in keys]
    assert threads == [("OMP_NUM_THREADS", "1")]


def test_a_stopped_run_goes_on(tmp_path: Path) -> None:
    """What was done before a run stopped is not done again, and a line that was cut off is done anew."""
    place, done = tmp_path / "ledger", []

    def noted(key: int) -> int:
        done.append(key)
        return square(key)

    with serial() as here:
        for key, _ in each(here, noted, range(10), Ledger(place), ahead=1):
            if key == 4:
                break
    with place.open("a") as file:
        file.write('["5", 2')
    done.clear()
    with serial() as here:
        assert list(each(here, noted, range(10), Ledger(place))) == [(key, key * key) for key in range(10)]
    assert done == [5, 6, 7, 8, 9]
    assert len(Ledger(place).done) == 10


def test_a_failure_is_told_and_what_was_done_is_kept(tmp_path: Path) -> None:
    """A task that fails is raised where its result is asked for; the results before it stand in the ledger."""
    ledger = Ledger(tmp_path / "ledger")

    def run(here: Executor) -> None:
        list(each(here, fails_at_three, [1, 2, 3, 4], ledger))

    with serial() as here, pytest.raises(ValueError, match="three"):
        run(here)
    assert Ledger(tmp_path / "ledger").done == {"1": 1, "2": 4}


def test_another_file_is_no_ledger(tmp_path: Path) -> None:
    """A file of something else is refused, and left as it is."""
    place = tmp_path / "notes"
    place.write_text("milk, hay\n")
    with pytest.raises(LedgerError, match="notes"):
        Ledger(place)
    assert place.read_text() == "milk, hay\n"


def test_without_dask_a_cluster_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where Dask is not installed, asking for a cluster says what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(DaskMissingError, match="distributed"), cluster("tcp://nowhere:1"):
        pass
