"""Processes that belong to this one: ended with it however it ends, and started again when they die."""

import multiprocessing
import os
import signal
from collections.abc import Callable
from multiprocessing.connection import wait
from threading import Event, Lock, Thread
from time import monotonic, sleep
from typing import Any

import click

FIRST_S, LONGEST_S, STEADY_S = 1.0, 60.0, 60.0
"""Pause before a dead child is started again: doubled up to the longest, the first again after a steady while."""

GRACE_S = 10.0
"""How long a process may take to end calmly."""


def end_with_parent() -> None:
    """End this process calmly when the one that started it is gone, and without ceremony if calm does not help.

    For a process that `multiprocessing` started; it does nothing in any other.
    """
    parent = multiprocessing.parent_process()
    if parent is not None:
        Thread(target=_watch, args=(parent.sentinel,), daemon=True).start()


def _watch(sentinel: int) -> None:
    wait([sentinel])
    os.kill(os.getpid(), signal.SIGTERM)
    sleep(GRACE_S)
    os._exit(1)


class Kept:
    """A child process that is started again when it dies.

    Args:
        target: what it does; a function of a module, since the child is a fresh process.
        args: what with.
        name: what it is called when its death is told.
    """

    def __init__(self, target: Callable[..., None], args: tuple[Any, ...], name: str) -> None:
        self.target, self.args, self.name = target, args, name
        self.ending = Event()
        self.turn = Lock()
        self.process: Any = None
        self.thread = Thread(target=self._keep, daemon=True)

    def start(self) -> None:
        """Start the child, unless `stop` was called before."""
        with self.turn:
            if not self.ending.is_set():
                self.thread.start()

    def end(self) -> None:
        """Tell the child to end, and start none any more."""
        with self.turn:
            if self.process is not None and not self.ending.is_set():
                self.process.terminate()
            self.ending.set()

    def stop(self) -> None:
        """End the child calmly, or by force when it takes too long; none is started any more."""
        self.end()
        if not self.thread.is_alive():
            return
        self.thread.join(GRACE_S)
        if self.thread.is_alive():
            self.process.kill()
            self.thread.join()

    def _keep(self) -> None:
        pause = FIRST_S / 2
        while self._started():
            began = monotonic()
            self.process.join()
            if self.ending.is_set():
                return
            steady = monotonic() - began > STEADY_S
            pause = FIRST_S if steady else min(2 * pause, LONGEST_S)
            click.echo(f"{self.name} ended unexpectedly; another is started in {pause:.0f} s.", err=True)
            self.ending.wait(pause)

    def _started(self) -> bool:
        with self.turn:
            if self.ending.is_set():
                return False
            self.process = multiprocessing.get_context("spawn").Process(target=self.target, args=self.args)
            self.process.start()
            return True
