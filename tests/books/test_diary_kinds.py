"""Kinds of entries: what can be typed, what is kept, what is said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.books.diary import KINDS, kind_of, read
from upsides.errors import EntryRefusedError, KindUnknownError


@pytest.mark.parametrize(
    ("typed", "celsius"),
    [
        ("38.0", 38.0),
        ("38", 38.0),
        ("38,5", 38.5),
        (" 38.5 °C ", 38.5),
        ("38.5 c", 38.5),
        ("３８．５", 38.5),
        ("100.4", 38.0),
        ("100.4 F", 38.0),
        ("101,3 °f", 38.5),
        ("99.5 fahrenheit", 37.5),
        (38.2, 38.2),
        ("35", 35.0),
        ("43", 43.0),
        ("109.4", 43.0),
    ],
)
def test_temperature_is_read_as_people_write_it(typed: object, celsius: float) -> None:
    """Point or comma, with or without a unit, either scale: C = (F - 32) / 1.8 (NIST SP 811, appendix B.8)."""
    assert read("temperature", {"celsius": typed}).kept() == {"celsius": celsius}


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "warm",
        "34.9",
        "43.1",
        "50",
        "94.9",
        "109.5",
        "38 F",
        "100.4 C",
        "-38",
        "38.0.1",
        "nan",
        True,
        None,
        [38],
        "9" * 200,
    ],
)
def test_what_no_horse_can_have_is_refused_in_words(typed: object) -> None:
    """A temperature that is no number, or lies outside 35 to 43 °C, is refused with field, reason and remedy."""
    with pytest.raises(EntryRefusedError) as refused:
        read("temperature", {"celsius": typed})
    assert refused.value.field == "temperature"
    assert refused.value.reason
    assert refused.value.remedy in str(refused.value)


@given(st.integers(950, 1094))
def test_every_tenth_of_fahrenheit_comes_back_as_typed(tenths: int) -> None:
    """What is typed in Fahrenheit is said back in Fahrenheit to the same tenth, with Celsius beside it."""
    said = read("temperature", {"celsius": f"{tenths / 10:.1f} F"}).words()
    assert f"({tenths / 10:.1f} °F)" in said


def test_a_temperature_says_both_scales() -> None:
    """38.0 °C is said as 38.0 °C and 100.4 °F, and offered for correction in Celsius."""
    kind = read("temperature", {"celsius": "100.4 F"})
    assert kind.words() == "Temperature 38.0 °C (100.4 °F)."
    assert kind.typed() == {"celsius": "38.0"}


def test_weather_is_read_in_both_scales() -> None:
    """How warm it was is kept in Celsius, frost and Fahrenheit too; humidity is of 100, and no more."""
    assert [read("weather", {"air": typed}).kept()["air"] for typed in ("14", "-3,5", "57 F", "14 °C")] == [
        14.0, -3.5, 13.9, 14.0,
    ]  # fmt: skip
    assert read("weather", {"air": "14", "humidity": "80"}).kept() == {"air": 14.0, "humidity": 80}
    for wrong in ({"air": ""}, {"air": "130"}, {"air": "14", "humidity": "101"}):
        with pytest.raises(EntryRefusedError):
            read("weather", wrong)


def test_looked_at_holds_no_number() -> None:
    """Looking at a horse keeps nothing but the entry itself, and a number with it is refused."""
    assert read("looked_at", {}).kept() == {}
    with pytest.raises(EntryRefusedError):
        read("looked_at", {"celsius": 38.0})


@pytest.mark.parametrize("text", ["", "  \n", "x" * 2001, "no\x00text", "no \ud800 text", 7, None])
def test_a_note_is_text(text: object) -> None:
    """A note that is empty, longer than 2000 characters or not text at all is refused."""
    with pytest.raises(EntryRefusedError):
        read("note", {"text": text})


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=2000))
def test_a_note_comes_back_as_written(text: str) -> None:
    """A note keeps what was written, but for the space around it."""
    if text.strip():
        assert read("note", {"text": f" {text}\r\n"}).words() == text.strip()


def test_an_unknown_kind_is_refused_by_name() -> None:
    """A kind that there is not is named, with those that there are."""
    with pytest.raises(KindUnknownError, match=r"'furlongs'.*looked_at, as_usual, temperature"):
        kind_of("furlongs")


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_can_be_offered(name: str) -> None:
    """Every kind has a title, its name fits the table, and each of its fields has a label."""
    kind = kind_of(name)
    assert str(kind.title)
    assert kind.name == name
    assert len(name) <= 40
    assert all(str(field.label) for field in kind.fields)
