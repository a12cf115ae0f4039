"""Commands on races to come, on the invented yard: what they answer agrees with itself and with each other."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from fresh import demo, fresh

MAIN = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
Done = subprocess.CompletedProcess[str]
Yard = Callable[..., Done]


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    """Return a function that asks the invented yard."""
    folder = tmp_path_factory.mktemp("races") / "yard"
    with fresh(folder, ready=True) as env:
        demo(folder, env)

        def asked(*arguments: object) -> Done:
            command = [*MAIN, *map(str, arguments), "--library", str(folder)]
            return subprocess.run(command, env=env, capture_output=True, text=True, check=False)

        yield asked


def said(done: Done) -> Any:
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_what_must_be_said_comes_soonest_first(yard: Yard) -> None:
    """Deadlines are in order, by the course's own clock, and each names a race of the programme that is to come."""
    found = said(yard("deadlines", "--json"))
    listed = {one["code"]: one for one in said(yard("programme", "list", "--to", "2026-09-18", "--json"))}
    assert found
    assert [one["by"] for one in found] == sorted(one["by"] for one in found)
    for one in found:
        assert one["code"] in listed
        assert one["zone"] == "Europe/London"
        assert one["by"][:10] <= listed[one["code"]]["day"]


def test_a_horse_and_the_string_are_told_the_same(yard: Yard) -> None:
    """What `placing` says of a horse in a race, `races` says of that horse: may it run, and off what weight."""
    placed = said(yard("placing", "--from", "2026-06-24", "--to", "2026-06-24", "--json"))
    race = next(one for one in placed["races"] if any(each["may_run"] == "yes" for each in one["ours"]))
    ours = next(one for one in race["ours"] if one["may_run"] == "yes")
    found = said(yard("races", ours["horse"], "--json"))
    mine = next(one for one in found["races"] if one["code"] == race["code"])
    assert (mine["may_run"], mine["weight"]) == ("yes", ours["weight"])
    assert found["looked_at"] >= 100
    assert len(race["ours"]) + race["may_not"] == 90


def test_chances_are_told_as_they_were_worked_out(yard: Yard) -> None:
    """Of a horse in a race both commands tell the same chance, with its ranges, a rank within its field, and a net that
    is the owners' part of the prize less the fees."""
    placed = said(yard("placing", "--from", "2026-06-22", "--to", "2026-06-27", "--json"))
    told = [(race["code"], one) for race in placed["races"] for one in race["ours"] if one["chance"]]
    assert len(told) >= 10
    for _code, one in told:
        chance = one["chance"]
        for name in ("rank", "runners"):
            middle, low, high = chance[name]
            assert low <= middle <= high
        assert all(chance[name][1] <= chance[name][2] for name in ("win", "place", "first_four"))
        assert 0 < chance["win"][0] <= chance["place"][0] <= chance["first_four"][0] <= 1
        assert 1 <= chance["rank"][1] <= chance["rank"][2] <= chance["runners"][2]
        assert chance["as_of"] == "2026-06-20"
        if chance["net"]:
            net = chance["share"] * chance["prize"]["amount"] - chance["fees"]
            assert abs(chance["net"]["amount"] - net) <= 0.2
    code, one = told[0]
    mine = next(race for race in said(yard("races", one["horse"], "--json"))["races"] if race["code"] == code)
    assert mine["chance"] == one["chance"]
    assert "chance to win" in yard("races", one["horse"]).stdout


def test_nothing_opens_to_a_horse_by_winning_a_maiden_but_penalties(yard: Yard) -> None:
    """A maiden that wins shuts the later maidens to itself; beaten, it shuts none."""
    listed = said(yard("programme", "list", "--to", "2026-09-18", "--json"))
    maidens = [one for one in listed if "maiden" in one["kinds"]]
    placed = said(yard("placing", "--from", maidens[0]["day"], "--to", maidens[0]["day"], "--json"))
    row = next(one for one in placed["races"] if one["code"] == maidens[0]["code"])
    name = next(one["horse"] for one in row["ours"] if one["may_run"] == "yes")
    after = {one["outcome"]: one for one in said(yard("win-costs", name, maidens[0]["code"], "--json"))["after"]}
    closed = [one for one in after["win"]["changed"] if one["closes"]]
    assert {one["code"] for one in closed} <= {one["code"] for one in maidens} | {one["code"] for one in listed}
    assert closed
    assert not any(one["closes"] for one in after["beaten"]["changed"])
    assert after["beaten"]["prize"] == 0.0


def test_entries_are_told_in_the_text(yard: Yard) -> None:
    """Beside every race that takes the horse stands by when to enter and for how much, or that entries are closed, as
    the JSON has it; `placing` says the same of each of its races.
    """
    name = said(yard("deadlines", "--json"))[0]["horse"]
    found = {one["code"]: one for one in said(yard("races", name, "--json"))["races"]}
    lines = yard("races", name).stdout.splitlines()
    for number, line in enumerate(lines):
        one = found.get(line.strip()[:12])
        if one is not None and one["may_run"] == "yes":
            told = lines[number + 1].strip()
            assert told.startswith(("enter by", "late entry by")) is one["can_be_entered"], told
            assert one["can_be_entered"] or told.startswith("entries closed")
            assert told.startswith("entries closed") or " XTS" in told
    assert any(one["can_be_entered"] for one in found.values())
    placed = yard("placing").stdout
    assert "entries closed" in placed


def test_a_mark_supposed_after_a_win_is_told_apart(yard: Yard) -> None:
    """`--mark` adds one answer for a win, named as it was given, and leaves those by the rules alone as they are."""
    due = next(one for one in said(yard("deadlines", "--json")) if one["code"])
    plain = said(yard("win-costs", due["horse"], due["code"], "--json"))["after"]
    found = said(yard("win-costs", due["horse"], due["code"], "--mark", "raised seven=82", "--json"))["after"]
    assert [one for one in found if one["supposed"] is None] == plain
    assert [one["supposed"] for one in found if one["supposed"]] == [{"name": "raised seven", "mark": 82.0}]
    assert (
        "supposing a mark of 82 (raised seven)"
        in yard("win-costs", due["horse"], due["code"], "--mark", "raised seven=82").stdout
    )
    assert yard("win-costs", due["horse"], due["code"], "--mark", "seven").returncode == 1
    assert yard("win-costs", due["horse"], due["code"], "--mark", "raised=999").returncode == 1


def test_refusals_are_plain(yard: Yard, tmp_path: Path) -> None:
    """A horse or race that is not there, a name that two races have, and a file that is no programme are refused."""
    listed = said(yard("programme", "list", "--to", "2026-09-18", "--json"))
    titles = [one["title"] for one in listed]
    twice = next(title for title in titles if titles.count(title) > 1)
    horse = said(yard("deadlines", "--json"))[0]["horse"]
    file = tmp_path / "nothing.csv"
    file.write_text("a,b\n1,2\n", encoding="utf-8")
    for arguments, kind in (
        (("races", "Nobody Here"), "HorseHereUnknownError"),
        (("win-costs", horse, "No Such Race"), "RaceUnknownError"),
        (("win-costs", horse, twice), "RaceNamedTwiceError"),
    ):
        done = yard(*arguments, "--json")
        assert (done.returncode, json.loads(done.stdout)["error"]["kind"]) == (1, kind)
    assert yard("programme", "add", file, "--shape", "hk1997").returncode == 1
    assert said(yard("programme", "list", "--to", "2026-09-18", "--json")) == listed


def test_a_stall_is_worth_nothing_on_average(yard: Yard) -> None:
    """Over a field the stalls' worths add up to nought, the range of each holds its middle, and meetings differ."""
    found = said(yard("draw", "Harrowmere", "1000m", "--runners", "10", "--json"))
    assert len(found["stalls"]) == 10
    assert sum(one["lb"][0] for one in found["stalls"]) == pytest.approx(0.0, abs=1e-9)
    assert all(one["lb"][1] <= one["lb"][0] <= one["lb"][2] for one in found["stalls"])
    assert found["races"] > 0
    low, high = found["one_day_lb"][1:]
    assert low < found["across_lb"][1] < found["across_lb"][2] < high


def test_the_draw_is_asked_as_a_person_writes_it(yard: Yard) -> None:
    """Small letters and a trip in furlongs mean the start that was run, with its surface and bend; the break is told at
    bends and on straights; a course that the library does not have is told first.
    """
    plain = said(yard("draw", "Harrowmere", "1000m", "--surface", "turf", "--json"))
    found = said(yard("draw", "harrowmere", "5f", "--json"))
    assert {**found, "as_of": plain["as_of"]} == plain
    assert (found["course"], found["known_by"], found["surface"]) == ("Harrowmere", "start", "turf")
    lines = yard("draw", "Harrowmere", "1000m").stdout
    assert "First away against last away at bends" in lines
    assert "First away against last away on straights" in lines
    unknown = yard("draw", "Nowhere", "5f").stdout
    assert unknown.startswith("The library knows no course called Nowhere")
