"""Bytes that a reader once broke on, as small as they could be made; and bytes that nobody would write, some of many.

`make fuzz` looks for them at length, guided by what of the code they reach; here each reader gets the same few.
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from tools.fuzz import __main__ as fuzzing
from tools.fuzz.readers import READERS, reader, try_reader
from tools.fuzz.seeds import seeds

from fit_bytes import TIMED, timed, whole
from upsides.recordings.formats.fit import read_fit

FEW = 300
LONGEST = 1 << 13


@pytest.mark.parametrize("alike", range(7, 13))
def test_the_last_of_many_like_messages_is_cut_off(alike: int) -> None:
    """Reading ends, with all whole records, where the last of many messages of one kind is cut off."""
    broken = whole(TIMED + b"".join(timed(s) for s in range(alike)))[:-4]
    (read,) = read_fit(broken, "a.fit")
    assert len(read) == alike - 1


def changed(dice: np.random.Generator, given: list[bytes]) -> Iterator[bytes]:
    """Yield inputs, each one of the given ones with some bytes changed, put in, taken out, doubled, or cut off."""
    for _ in range(FEW):
        data = bytearray(given[int(dice.integers(len(given)))][:LONGEST])
        for _ in range(int(dice.integers(1, 5))):
            at, size = int(dice.integers(len(data) + 1)), int(dice.integers(1, 9))
            match int(dice.integers(5)):
                case 0:
                    data[at : at + size] = dice.bytes(min(size, len(data) - at))
                case 1:
                    data[at:at] = dice.bytes(size)
                case 2:
                    del data[at : at + size]
                case 3:
                    data[at:at] = data[at : at + 8 * size]
                case _ if dice.random() < 0.2:
                    del data[at:]
                case _:
                    data[at : at + 1] = bytes([int(dice.choice([0, 1, 127, 128, 255]))])
        yield bytes(data)


@pytest.mark.parametrize("name", READERS)
def test_any_bytes_are_recordings_or_a_refusal(name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What a reader makes of bytes that nobody would write is recordings that hold together, or a refusal in words."""
    monkeypatch.setenv("UPSIDES_SHARED", str(tmp_path))
    read = reader(name)
    for data in changed(np.random.default_rng(len(name)), seeds(name)):
        try_reader(read, data)


def test_fuzzing_goes_on_where_it_was(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Readers take turns until each has had its share of the seconds, those of a run that was killed counted; one that
    broke gets no further turn and makes the status 1."""
    asked: list[tuple[str, int]] = []

    def fuzz(name: str, seconds: int, folder: Path) -> int:
        asked.append((name, seconds))
        folder.mkdir(exist_ok=True)
        with (folder / fuzzing.SPENT).open("a") as kept:
            kept.write(f"{seconds}\n")
        return int(name == "b")

    monkeypatch.setattr(fuzzing, "fuzz", fuzz)
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / fuzzing.SPENT).write_text("250\n")
    assert fuzzing.in_turn(["a", "b", "c"], 120, 300.0, tmp_path) == 1
    assert asked == [("a", 50), ("b", 120), ("c", 120), ("c", 120), ("c", 60)]
    assert fuzzing.in_turn(["a", "c"], 120, 300.0, tmp_path) == 0
    assert len(asked) == 5
