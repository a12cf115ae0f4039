"""Starting a writer, killing it at a moment that nobody chose, and reading what it had said.

Writers are forks of this process, which has loaded everything but has opened no database and started no thread, so
that a writer is at work within milliseconds. Looks at the books are forks too, for the same reason.
"""

import json
import os
import signal
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from select import select
from time import sleep
from typing import Any

LONGEST_S = 60.0
"""A writer that says nothing for so long is killed all the same."""

Work = Callable[[int, int, list[str]], None]
Say = Callable[[str, str, object], None]


def speaker(pipe: int) -> Say:
    """Return a function that writes one line on a pipe, whole."""

    def say(mark: str, kind: str, token: object) -> None:
        os.write(pipe, f"{mark} {kind} {token}\n".encode())

    return say


@dataclass
class Writer:
    """A writer that lives.

    Args:
        number: its process.
        pipe: where it says what it did.
        lines: how many lines it is left to say.
        seconds: how long it is left after that.
    """

    number: int
    pipe: int
    lines: int
    seconds: float


@dataclass
class Heard:
    """What writers have said.

    Args:
        done: acts that were acknowledged, by kind.
        open: acts that were begun and not acknowledged when their writer was killed.
        kills: how many writers were killed.
        failed: what writers said that ended by themselves.
    """

    done: dict[str, set[str]] = field(default_factory=dict)
    open: list[tuple[str, str]] = field(default_factory=list)
    kills: int = 0
    failed: list[str] = field(default_factory=list)

    def acknowledged(self) -> int:
        """Return how many acts were acknowledged."""
        return sum(len(tokens) for tokens in self.done.values())


def start(work: Callable[[int], None], lines: int, seconds: float) -> Writer:
    """Fork a writer."""
    reading, writing = os.pipe()
    sys.stdout.flush()  # what is still held would be printed by the fork, too, where it comes to its end
    number = os.fork()
    if number:
        os.close(writing)
        return Writer(number, reading, lines, seconds)
    os.close(reading)
    _do(lambda: work(writing), writing)
    raise AssertionError("unreachable")


def _do(work: Callable[[], None], pipe: int) -> None:
    """Do it and end this process, whatever happens, without what a process does at its end."""
    try:
        work()
    except BaseException:  # noqa: BLE001 (the parent is told)
        os.write(pipe, f"E error {json.dumps(traceback.format_exc()[-3000:])}\n".encode())
    finally:
        sys.stdout.flush()
        os._exit(0)


def kill(writer: Writer, heard: Heard) -> None:
    """Kill a writer when its time has come, and take down what it had said."""
    text = b""
    while text.count(b"\n") < writer.lines and select([writer.pipe], [], [], LONGEST_S)[0]:
        if not (more := os.read(writer.pipe, 1 << 16)):
            break
        text += more
    sleep(writer.seconds)
    os.kill(writer.number, signal.SIGKILL)
    os.waitpid(writer.number, 0)
    with os.fdopen(writer.pipe, "rb") as said:
        lines = (text + said.read()).decode().splitlines()
    heard.kills += 1
    begun: set[tuple[str, str]] = set()
    for line in lines:
        mark, kind, token = line.split(" ", 2)
        if mark == "E":
            heard.failed.append(str(json.loads(token)))
        elif mark == "B":
            begun.add((kind, token))
        else:
            begun.discard((kind, token))
            heard.done.setdefault(kind, set()).add(token)
    heard.open += sorted(begun)


def kill_many(work: Work, times: int, most: int, longest: float, heard: Heard, dice: Random, writers: int = 2) -> int:
    """Start and kill writers, some at a time; each is handed the entries that killed ones left open.

    Args:
        work: called with the pipe, a seed and entries to send again.
        times: how many.
        most: lines that a writer says at most before it is killed; any number from 0 on is as likely.
        longest: seconds that it is left after that at most.
        heard: what they said is added to it.
        dice: chooses the moments.
        writers: how many at a time.

    Returns:
        How many entries were handed on.
    """
    handed = 0
    for _ in range(0, times, writers):
        again = sorted({token for kind, token in heard.open if kind == "entry"} - heard.done.get("entry", set()))
        handed += len(again)
        living = []
        for turn in range(min(writers, times)):
            seed, mine = dice.getrandbits(32), again if turn == 0 else []
            moment = dice.randint(0, most), dice.uniform(0.0, longest)
            living.append(start(lambda pipe, seed=seed, mine=mine: work(pipe, seed, mine), *moment))  # type: ignore[misc]
        for writer in living:
            kill(writer, heard)
    return handed


def asked(question: Callable[[], Any]) -> Any:
    """Return what a fork of this process answers, as JSON."""
    reading, writing = os.pipe()
    number = os.fork()
    if not number:
        os.close(reading)

        def answer() -> None:
            with os.fdopen(os.dup(writing), "w") as out:
                json.dump({"answer": question()}, out)

        _do(answer, writing)
    os.close(writing)
    with os.fdopen(reading) as said:
        text = said.read()
    os.waitpid(number, 0)
    if not text.startswith("{"):
        raise RuntimeError(json.loads(text.split(" ", 2)[2]) if text else "the look at the books died")
    return json.loads(text)["answer"]
