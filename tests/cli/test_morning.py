"""`upsides morning` on the invented yard: what it says today, and what it would have said earlier."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from fresh import demo, fresh

MAIN = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
Morning = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="module")
def morning(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Morning]:
    """Return a function that asks the invented yard for a morning."""
    folder = tmp_path_factory.mktemp("morning") / "yard"
    with fresh(folder, ready=True) as env:
        demo(folder, env)

        def asked(*options: str) -> subprocess.CompletedProcess[str]:
            command = [*MAIN, "morning", "--library", str(folder), *options]
            return subprocess.run(command, env=env, capture_output=True, text=True, check=False)

        yield asked


def said(done: subprocess.CompletedProcess[str]) -> dict[str, Any]:
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_today_s_morning_is_whole(morning: Morning) -> None:
    """The counts of the sentence are those of the lists, the pressing stands first, deadlines come soonest first."""
    found = said(morning("--json"))
    lots = [lot for lot in found["lots"] if lot["lot"] is not None]
    assert found["sentence"].startswith(f"{found['out']} of {found['in_training']} horses go out this morning, in ")
    assert found["out"] == sum(len(lot["rides"]) for lot in lots) > 50
    assert found["eyes_on"] == sum(look["eyes_on"] for look in found["look_first"]) >= 2
    why = [look["reasons"][0]["why"] for look in found["look_first"]]
    assert {"temperature", "leg"} <= set(why)
    assert why.index("temperature") < why.index("leg")
    told = [reason for look in found["look_first"] if look["eyes_on"] for reason in look["reasons"]]
    assert all(reason["entry"] for reason in told if reason["why"] != "unseen")
    times = [one["by"] for one in found["deadlines"]]
    assert times == sorted(times)
    assert times
    assert found["runners"]
    assert any(one["overdue"] for one in found["due"])


def test_an_earlier_morning_is_told_as_it_was_known(morning: Morning) -> None:
    """A morning of last week is that of six o'clock then, and knows nothing of today."""
    earlier, today = said(morning("--date", "2026-06-12", "--json")), said(morning("--json"))
    assert earlier["as_of"].startswith("2026-06-12T06:00")
    entries = [{r["entry"] for look in one["look_first"] for r in look["reasons"]} for one in (earlier, today)]
    assert max(filter(None, entries[0]), default=0) < max(filter(None, entries[1]))


def test_it_reads_well_in_a_terminal(morning: Morning) -> None:
    """Without --json the sentence stands first, then whom to look at, what is not looked at, lots and what is due."""
    text = morning().stdout
    heads = ["Look at these first", "Not looked at yet", "Lot 1: ", "Runners", "To be said within two days", "Due"]
    places = [text.index(f"\n{head}") for head in heads]
    assert places == sorted(places)


def test_a_day_that_is_none_is_refused(morning: Morning) -> None:
    """A day written wrong ends with words and exit code 2."""
    done = morning("--date", "tomorrow")
    assert done.returncode == 2
    assert "2003-01-31" in done.stderr
