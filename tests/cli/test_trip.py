"""`upsides trip` on the invented country."""

import json
from pathlib import Path

import polars as pl
import pytest

from upsides.results.library import Library
from worlds import fitted

KEYS = {
    "horse", "name", "as_of", "best_furlongs", "most_likely_furlongs", "range50", "range90", "kinds", "curve",
    "ability_lb", "ability_sd_lb", "runs", "evidence", "disagreements", "what_if", "next_best", "without", "notes",
    "family",
}  # fmt: skip


@pytest.fixture(scope="module")
def country(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented country's library with its fit."""
    return fitted(tmp_path_factory.mktemp("trip") / "library").folder


@pytest.fixture(scope="module")
def horse(country: Path) -> str:
    """The horse that has run most often."""
    horses = Library.open(country).horses().collect()
    return str(horses.sort("runs", descending=True)["horse_key"][0])


def test_the_contract(ask, country: Path, horse: str) -> None:
    """The answer has the keys of docs/json.md, ranges hold the best trip, and chances add up."""
    found = ask("trip", horse, "--library", country)
    assert set(found) == KEYS
    assert (
        found["range90"][0] < found["range50"][0] < found["best_furlongs"] < found["range50"][1] < found["range90"][1]
    )
    assert sum(found["kinds"].values()) == pytest.approx(1.0)
    assert {piece["name"] for piece in found["evidence"]} == {"family", "entries", "runs", "sections"}
    assert found["runs"] > 10


def test_what_if_and_without(ask, country: Path, horse: str) -> None:
    """A trip asked for is answered in furlongs however it is written, and a piece left out leaves its mark."""
    whole = ask("trip", horse, "--library", country)
    less = ask("trip", horse, "--library", country, "--what-if", "6f", "--what-if", "2000m", "--without", "runs")
    assert [w["furlongs"] for w in less["what_if"]] == pytest.approx([6.0, 9.942], abs=1e-3)
    assert less["without"] == ["runs"]
    assert less["best_furlongs"] != whole["best_furlongs"]
    pull = next(piece for piece in whole["evidence"] if piece["name"] == "runs")
    assert pull["pull_furlongs"] == pytest.approx(whole["best_furlongs"] - less["best_furlongs"])


def test_in_words(run, country: Path, horse: str) -> None:
    """A person reads the kind and its chance, the best trip with its ranges, what moved it and what would tell more."""
    text = run("trip", horse, "--library", country).stdout
    first = text.splitlines()[0]
    assert "in 100; best at" in first
    assert "nine times in ten" in first
    assert "What moved it" in text
    assert "Expected figure" in text


def test_a_gene_test_moves_it(ask, country: Path, horse: str) -> None:
    """A horse tested C/C comes out shorter than the same horse tested T/T."""
    short, long = (ask("trip", horse, "--library", country, "--gene", g)["best_furlongs"] for g in ("C/C", "T/T"))
    assert short < long


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("nobody at all",), 1, "no horse"),
        (("--what-if", "a mile or so"), 2, "a mile or so"),
        (("--without", "pedigree"), 1, "no piece of evidence 'pedigree'; there are: "),
        (("--as-of", "1999-01-01"), 1, ""),
    ],
)
def test_what_cannot_be_is_refused(
    run, country: Path, horse: str, arguments: tuple[str, ...], code: int, said: str
) -> None:
    """An unknown horse, trip, piece or day is refused in words."""
    words = arguments if arguments[0] == "nobody at all" else (horse, *arguments)
    result = run("trip", *words, "--library", country, "--json")
    assert result.exit_code == code
    assert said in result.stderr
    if code == 1:
        assert json.loads(result.stdout)["error"]["message"]


def test_an_ancestor_that_never_ran_here(ask, country: Path) -> None:
    """A sire that the country knows by its offspring alone gets the curve that they give it."""
    horses = Library.open(country).horses().collect()
    sires = horses.filter(pl.col("sire").is_not_null(), pl.col("runs") > 0).group_by("sire").len().sort("len")
    found = ask("trip", sires["sire"][-1], "--library", country)
    assert found["runs"] == 0
    assert {piece["name"] for piece in found["evidence"]} == {"family"}
