"""Where tasks run: one after the other here, in fresh processes, or on a Dask cluster; the only door to Dask.

    with processes(2) as executor:
        for key, result in each(executor, read_one, keys, Ledger(path)):
            ...

A task is a function of a module and takes one key: an address or a partition, as JSON has it, never large arrays. What
it makes it writes where it belongs, and returns where that is and what is worth knowing of it; where a ledger is kept,
again as JSON has it.
Results come in the order of the keys, wherever they were worked out, so that whatever is summed is summed in one order.
"""

import json
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib import import_module
from itertools import islice
from multiprocessing import get_context, parent_process
from multiprocessing.connection import wait
from pathlib import Path
from threading import Thread
from typing import Any, ParamSpec, TypeVar

from upsides.errors import DaskMissingError, LedgerError

P = ParamSpec("P")
T = TypeVar("T")
Key = Any
Task = Callable[[Key], Any]

AHEAD = 4
"""So many tasks a process are handed out before the first result is asked for."""
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "POLARS_MAX_THREADS")


class Serial(Executor):
    """Runs each task at once, in this process."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Do it now."""
        done: Future[T] = Future()
        try:
            done.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 (it is raised where the result is asked for, as executors do)
            done.set_exception(error)
        return done


@contextmanager
def serial() -> Iterator[Executor]:
    """Give what runs tasks one after the other, here."""
    yield Serial()


@contextmanager
def processes(count: int) -> Iterator[Executor]:
    """Give what runs tasks in fresh processes, each with one thread for arithmetic.

    They end with this process however it ends; a block that is left early drops what has not begun.
    """
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))  # children read them when they load their libraries
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_end_with_parent)
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """Give what runs tasks on a Dask cluster, whose workers see the same folders.

    Args:
        address: of its scheduler.

    Raises:
        DaskMissingError: Dask is not installed here.
    """
    try:
        dask = import_module("distributed")
    except ImportError:
        raise DaskMissingError from None
    with dask.Client(address) as client:
        yield client.get_executor(pure=False)


def _end_with_parent() -> None:
    """End this process when the one that started it is gone, killed perhaps, so that nobody waits for work for ever."""
    parent = parent_process()
    if parent is not None:
        Thread(target=_watch, args=(parent.sentinel,), daemon=True).start()


def _watch(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


@dataclass(slots=True)
class Ledger:
    """What was done so far, a line a task, in a file: a run that was stopped goes on where it was.

    Args:
        path: of the file; it is made where it is not there.

    Raises:
        LedgerError: the file is of something else.
    """

    path: Path
    done: dict[str, Any] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        if not self.path.exists():
            return
        lines = self.path.read_bytes().split(b"\n")
        try:
            pairs = [json.loads(line) for line in lines[:-1]]  # a last line without its end was cut off
            self.done = dict(pairs)
        except (ValueError, TypeError) as error:
            raise LedgerError(self.path) from error
        if lines[-1]:
            with self.path.open("rb+") as file:
                file.truncate(sum(len(line) + 1 for line in lines[:-1]))

    def note(self, key: Key, result: Any) -> None:
        """Write down that a task is done, with its result."""
        line = json.dumps([name_of(key), result])
        with self.path.open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")
        self.done[name_of(key)] = result


def name_of(key: Key) -> str:
    """Return a key as a text, the same for the same key."""
    return key if isinstance(key, str) else json.dumps(key, sort_keys=True)


def each(
    executor: Executor, task: Task, keys: Sequence[Key], ledger: Ledger | None = None, ahead: int = AHEAD * 2
) -> Iterator[tuple[Key, Any]]:
    """Do a task for each key and yield key and result in their order; those that the ledger has are not done again.

    Args:
        executor: where.
        task: what; what it raises is raised here, and what was done before stays in the ledger.
        keys: for what, each once.
        ledger: where results are written down as they come.
        ahead: how many tasks are handed out at once.
    """
    left = iter([key for key in keys if ledger is None or name_of(key) not in ledger.done])
    out = {name_of(key): executor.submit(task, key) for key in islice(left, ahead)}
    for key in keys:
        name = name_of(key)
        if ledger is not None and name in ledger.done:
            yield key, ledger.done[name]
            continue
        result = out.pop(name).result()
        out |= {name_of(one): executor.submit(task, one) for one in islice(left, 1)}
        if ledger is not None:
            ledger.note(key, result)
        yield key, result
