"""`upsides fit`, `rate` and `evaluate` on an invented library."""

import json
import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest

from upsides.demo import Invented
from upsides.errors.wording import of_kept
from upsides.ratings import fits
from upsides.results.library import Library


def kept(library: Path) -> dict[str, bytes]:
    """Return every file beside the results in which fits are kept."""
    return {str(p.relative_to(library)): p.read_bytes() for p in (library / "fits").rglob("*") if p.is_file()}


def test_fit_prints_its_manifest(ask, own: Path, world: Invented) -> None:
    """A fit says what went in and how it ended, and is kept as the one for its day."""
    found = ask("fit", "--library", own, "--as-of", "2026-01-01")
    assert found["as_of"] == "2026-01-01"
    assert 0 < found["races"] <= world.races.filter(world.races["date"] < date(2026, 1, 1)).height
    assert found["converged"] is True
    trips = found.pop("trips")
    assert json.loads((own / "fits" / "2026-01-01" / "manifest.json").read_text()) == found
    about = json.loads((own / "fits" / "2026-01-01" / "trip.json").read_text())
    assert {name: about[name] for name in trips} | {"notes": [of_kept(one) for one in about["notes"]]} == trips
    assert fits.read_fit(own).as_of > date(2026, 1, 1)


def test_fit_in_words(run, own: Path) -> None:
    """A person reads what went in, how horses differ and whether it converged."""
    text = run("fit", "--library", own).stdout
    assert "runs of" in text.splitlines()[0]
    assert "Horses differ by" in text
    assert "converged" in text


def test_fit_before_the_first_race_is_refused(run, filled: Path, world: Invented) -> None:
    """A day before which nothing was run is refused with the first day there is."""
    result = run("fit", "--library", filled, "--as-of", "2020-01-01", "--json")
    assert result.exit_code == 1
    first = world.races["date"].min()
    message = json.loads(result.stdout)["error"]["message"]
    assert f"no race was run before 2020-01-01, the first in the library on {first}" in message


def test_fit_of_an_empty_library_is_refused(run, tmp_path: Path) -> None:
    """Without results there is nothing to fit, and the message says how to add some."""
    Library.create(tmp_path / "empty")
    result = run("fit", "--library", tmp_path / "empty")
    assert result.exit_code == 1
    assert "upsides results add" in result.stderr


@pytest.mark.parametrize("at", [0.0, 0.5, 0.9])
def test_ctrl_c_leaves_the_earlier_fit(run, own: Path, monkeypatch: pytest.MonkeyPatch, at: float) -> None:
    """Stopped at any stage, the fit that was there answers as before and nothing half-written is left."""
    before = kept(own)

    def stop(_line: object, done: float, _what: str) -> None:
        if done >= at:
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("upsides.cli.progress.Shown.__call__", stop)
        result = run("fit", "--library", own, "--seed", 3)
    assert (result.exit_code, result.stdout) == (130, "")
    assert kept(own) == before
    assert [p.name for p in (own / "fits").iterdir() if p.name.startswith(".")] == []


def test_rate_by_name_and_by_number(ask, filled: Path, busy: dict) -> None:
    """A horse is found by its name, its number, and source and number; its answer is the same."""
    found = ask("rate", busy["name"], "--library", filled)
    assert {"horse", "name", "as_of", "level_lb", "sd_lb", "runs", "figures"} <= set(found)
    assert (found["horse"], found["name"]) == (busy["number"], busy["name"])
    assert found["runs"] == len(found["figures"]) > 0
    assert found["sd_lb"] > 0
    assert all(isinstance(found[key], float) for key in ("level_lb", "sd_lb"))
    for other in (busy["number"], busy["number"].split(":")[1], busy["name"].upper()):
        assert ask("rate", other, "--library", filled) == found


def test_rate_in_words(run, filled: Path, busy: dict) -> None:
    """A person reads the worth with its range first, then the runs, the latest first."""
    lines = run("rate", busy["name"], "--library", filled).stdout.splitlines()
    assert lines[0].startswith(f"{busy['name']}, as of ")
    assert "lb on our figures, four times in five between" in lines[0]
    days = [line.split()[0] for line in lines[2:] if line.split()[0].startswith("20")]
    assert days == sorted(days, reverse=True)
    assert len(days) == min(12, busy["runs"]) or len(days) > 5


def test_rate_of_an_unknown_name_lists_names_like_it(run, filled: Path, busy: dict) -> None:
    """A name that nobody has is refused with names that resemble it."""
    result = run("rate", busy["name"][:-1], "--library", filled, "--json")
    error = json.loads(result.stdout)["error"]
    assert (result.exit_code, error["kind"]) == (1, "HorseUnknownError")
    assert busy["name"] in error["message"]


def test_rate_of_a_name_that_two_horses_share(run, own: Path, world: Invented, busy: dict) -> None:
    """Two horses of one name are both listed, with what tells them apart."""
    from upsides.results.importing import add_frames

    runs = world.runs.filter(world.runs["source_horse"] == busy["number"]).tail(1)
    races = world.races.filter(world.races["race_key"].is_in(runs["race_key"].implode()))
    races = races.with_columns(race_key=races["race_key"].str.replace("invented", "other"))
    runs = runs.with_columns(
        race_key=runs["race_key"].str.replace("invented", "other"), source_horse=runs["source_horse"] + "x"
    )
    add_frames(Library.open(own), races, runs, "other")
    result = run("rate", busy["name"], "--library", own)
    assert result.exit_code == 1
    assert f"2 horses answer to {busy['name']!r}" in result.stderr


def test_rate_as_of_uses_earlier_results_only(ask, run, own: Path, busy: dict) -> None:
    """As of a day the answer has only runs before it, and is the same where nothing later is in the library."""
    day = busy["first"] + timedelta(days=100)
    found = ask("rate", busy["name"], "--library", own, "--as-of", day)
    assert found["as_of"] == str(day)
    assert 0 < found["runs"] < busy["runs"]
    assert all(run["date"] < str(day) for run in found["figures"])
    assert (own / "fits" / str(day)).is_dir()
    assert ask("rate", busy["name"], "--library", own)["as_of"] > str(day)
    again = run("rate", busy["name"], "--library", own, "--as-of", day)
    assert "making it" not in again.stderr


def test_rate_as_of_does_not_know_what_came_later(ask, own: Path, world: Invented, busy: dict, tmp_path: Path) -> None:
    """The answer as of a day is that of a library which ends the day before."""
    from upsides.results.importing import add_frames

    day = busy["first"] + timedelta(days=100)
    races, runs = (frame.filter(frame["date"] < day) for frame in (world.races, world.runs))
    add_frames(Library.create(tmp_path / "early"), races, runs, "invented")
    shutil.copy(own / "rules.toml", tmp_path / "early")
    want = ask("rate", busy["number"], "--library", tmp_path / "early", "--as-of", day)
    assert ask("rate", busy["number"], "--library", own, "--as-of", day) == want


def test_rate_before_the_first_run_is_refused(run, own: Path, busy: dict) -> None:
    """Before a horse has run it has no figure; the message says so and nothing is fitted for it."""
    day = busy["first"]
    result = run("rate", busy["name"], "--library", own, "--as-of", day, "--json")
    error = json.loads(result.stdout)["error"]
    assert (result.exit_code, error["kind"]) == (1, "NotRatedError")
    assert f"{busy['name']} has no flat run with a margin and a weight before {day}" in error["message"]
    assert not (own / "fits" / str(day)).exists()


def test_rate_makes_a_fit_that_is_missing(run, own: Path, busy: dict) -> None:
    """Without a fit one is made, said on standard error only."""
    shutil.rmtree(own / "fits")
    result = run("rate", busy["name"], "--library", own, "--json")
    assert json.loads(result.stdout)["horse"] == busy["number"]
    assert "There is no such fit yet; making it." in result.stderr
    assert fits.read_fit(own).manifest["races"] > 0


def test_evaluate_prints_the_contract(ask, filled: Path, world: Invented) -> None:
    """The back-test answers with the documented keys in plain numbers."""
    found = ask("evaluate", "--library", filled, "--from", "2026-03-01", "--no-placing")
    assert {
        "races", "log_loss", "log_loss_uniform", "pseudo_r2", "market_pseudo_r2", "calibration", "terms",
    } <= set(found)  # fmt: skip
    assert found["races"] == world.races.filter(world.races["date"] >= date(2026, 3, 1)).height
    assert found["pseudo_r2"] == pytest.approx(1 - found["log_loss"] / found["log_loss_uniform"])
    assert found["market_pseudo_r2"] is None
    assert all(set(band) == {"predicted", "observed", "count"} for band in found["calibration"])
    assert {"level", "people", "draw"} <= {term["term"] for term in found["terms"]}
    assert found["placing"] is None


def test_evaluate_in_words(run, filled: Path) -> None:
    """A person reads how good and calibrated chances were, what each group of terms is worth, of trips and placing."""
    result = run("evaluate", "--library", filled, "--from", "2026-04-01", "--to", "2026-05-01")
    lines = result.stdout.splitlines()
    assert "each judged from what was known before it" in lines[0]
    assert "the table has no market prices to compare" in lines[1]
    chances = 4 + 10 + 1 + 14
    assert lines[chances].startswith("Trips. 97 % of ")
    assert "tried a new distance" in lines[chances + 1]
    assert any(" runs, " in line for line in lines[chances + 3 :])
    placing = next(place for place, line in enumerate(lines) if line.startswith("Placing, "))
    assert "the change itself brought" in lines[placing - 1]
    assert lines[-1].startswith("The level of fields to expect, ")
    assert len(lines) == placing + 3 + 4 + 2
    assert "100 %" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "2099-01-01"), "there is no race from 2099-01-01"),
        (("--from", "1999-01-01"), "only 0 races were run before 1999-01-01"),
        (("--from", "2026-03-01", "--source", "elsewhere"), "there is no race from 2026-03-01"),
    ],
)
def test_evaluate_refuses_in_words(run, filled: Path, arguments: tuple[str, ...], words: str) -> None:
    """A day without races, a day too early or a source that is not there end in one plain sentence."""
    result = run("evaluate", "--library", filled, *arguments)
    assert (result.exit_code, result.stdout) == (1, "")
    assert words in result.stderr
