"""Finding rules: shipped data is whole, a yard's own rules win and say so, bad files are refused plainly."""

from datetime import date
from pathlib import Path

import pytest

from upsides.errors import NoRuleError, RuleFileError, UnreadableError
from upsides.rules import (
    Overrides,
    jurisdictions,
    override,
    place_named,
    pounds_per_length,
    read_overrides,
    weight_figure,
    weight_for_age,
)
from upsides.rules.files import shipped
from upsides.rules.rule import CONFIDENCES

OWN = """
topic = "weights"

[[rule]]
name = "Invented minimum"
kind = "minimum riding weight"
jurisdiction = "Britain"
valid_from = 2024-01-01
valid_to = 2024-12-31
source = "Invented for this test, 2024"
confidence = "low"
unit = "lb"
value = 120
"""


def own_file(folder: Path, text: str = OWN) -> Path:
    path = folder / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_shipped_rule_is_whole() -> None:
    """Every shipped rule names its jurisdiction, source and confidence, and its dates are in order."""
    places = {*jurisdictions(), "anywhere"}
    for entry in shipped():
        rule = entry.rule
        assert rule.name
        assert rule.jurisdiction in places, rule
        assert len(rule.source) > 10, rule
        assert rule.confidence in CONFIDENCES, rule
        assert rule.valid_from is None or rule.valid_to is None or rule.valid_from <= rule.valid_to


def test_memory_always_says_so_in_its_source() -> None:
    """A rule marked as memory says so in words, and no other rule does."""
    for entry in shipped():
        assert (entry.rule.confidence == "memory") == entry.rule.source.startswith("From memory"), entry.rule


def test_a_yards_file_wins_on_its_days_and_says_so(tmp_path: Path) -> None:
    """A yard's own value wins between its dates, names its file, and leaves the shipped one outside them."""
    mine = read_overrides(own_file(tmp_path))
    during = weight_figure("Britain", date(2024, 6, 1), "minimum riding weight", overrides=mine)
    after = weight_figure("Britain", date(2025, 1, 1), "minimum riding weight", overrides=mine)
    assert (during.value, during.rule.origin) == (120, "yard (own.toml)")
    assert (after.value, after.rule.origin) == (114, "shipped")


def test_a_rule_given_in_code_wins_too() -> None:
    """A rule given as an object wins over the shipped one, for a wider body's rule as well."""
    mine = override(
        "weight for age",
        "invented scale",
        "Europe",
        "invented for this test",
        shape="grid",
        form="allowance",
        unit="lb",
        step="month",
        distance_rule="nearest furlong",
        mature_age=4,
        columns=["Jul"],
        rows=[{"furlongs": 10, "age": 3, "values": [77]}],
    )
    got = weight_for_age("Britain", date(2017, 7, 8), 2011.68, 3, overrides=mine)
    assert (got.value, got.rule.origin) == (77, "yard (given in code)")
    assert weight_for_age("Britain", date(2017, 8, 20), 14 * 201.168, 3, overrides=mine).rule.origin == "shipped"


def test_a_yard_may_add_a_jurisdiction_of_its_own() -> None:
    """A rule for a place that the package does not know can be asked for by that place's name."""
    mine = override(
        "pounds per length",
        "invented",
        "Far Island",
        "invented",
        scale="points",
        code="flat",
        unit="lb",
        value=2.5,
    )
    got = pounds_per_length(1000, date(2020, 1, 1), jurisdiction="Far Island", overrides=mine)
    assert got.value == 2.5


def test_two_books_of_rules_are_joined_in_order(tmp_path: Path) -> None:
    """Of two books of a yard's own the first one wins."""
    code = override("weights", "other", "Britain", "invented", kind="minimum riding weight", unit="lb", value=130)
    both = code + read_overrides(own_file(tmp_path))
    assert isinstance(both, Overrides)
    got = weight_figure("Britain", date(2024, 6, 1), "minimum riding weight", overrides=both)
    assert got.value == 130


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('topic = "weights"', 'topic = "hats"', "topic 'hats' is none of"),
        ('confidence = "low"', 'confidence = "sure"', "confidence 'sure' is none of"),
        ('source = "Invented for this test, 2024"', "", "add source"),
        ("value = 120", "", "add value"),
        ("value = 120", 'value = "many"', "figures cannot be used"),
        ("2024-01-01", '"2024"', "dates without quotes"),
        ("2024-12-31", "2023-12-31", "lies before valid_from"),
        ("[[rule]]", "[other]", "begin each rule with"),
        ("[[rule]]", "[[rule", "not TOML"),
    ],
)
def test_a_bad_file_is_refused_whole(tmp_path: Path, old: str, new: str, said: str) -> None:
    """A file with one bad rule is refused with the file, the rule and the reason."""
    path = own_file(tmp_path, OWN.replace(old, new))
    with pytest.raises(RuleFileError, match=said) as caught:
        read_overrides(path)
    assert str(path) in str(caught.value)


def test_a_scale_with_a_row_too_short_is_refused() -> None:
    """A table whose row has fewer values than columns is refused when it is read, not when it is asked."""
    with pytest.raises(RuleFileError, match="figures cannot be used"):
        override(
            "weight for age",
            "invented",
            "Europe",
            "invented",
            shape="grid",
            form="allowance",
            unit="lb",
            step="month",
            distance_rule="nearest furlong",
            columns=["Jun", "Jul"],
            rows=[{"furlongs": 10, "age": 3, "values": [7]}],
        )


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    """A file that is not there is named."""
    with pytest.raises(RuleFileError, match="cannot be opened"):
        read_overrides(tmp_path / "none.toml")


def test_an_error_names_what_exists() -> None:
    """A look-up outside every validity names jurisdiction, date and the rules that there are."""
    with pytest.raises(NoRuleError) as caught:
        weight_for_age("Britain", date(1980, 7, 1), 1600, 3)
    text = str(caught.value)
    assert "Britain on 1980-07-01" in text
    assert "1990-01-01 to 2016-12-31" in text


@pytest.mark.parametrize(
    ("text", "place"),
    [("GB", "Britain"), ("IRE", "Ireland"), ("Hong Kong", "Hong Kong"), ("UAE", "UAE"), ("", "anywhere")],
)
def test_places_by_name_and_code(text: str, place: str) -> None:
    """Names, country codes and horses' suffixes lead to one place; a code without rules stands for itself."""
    assert place_named(text) == place


def test_an_unknown_place_is_refused() -> None:
    """A name that is none is refused with the names that are."""
    with pytest.raises(UnreadableError, match="Britain"):
        place_named("Narnia")
