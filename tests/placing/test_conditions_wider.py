"""The ordinary wording of conditions at large: how much of it is read, what it means, and that nothing is dropped."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from race_wordings import ON, ON_CARD, ON_HORSES, ON_WEIGHT, lb, values
from upsides.placing.conditions.reading import Value, read_conditions
from upsides.placing.conditions.weights import Allowed, Carries, Penalty, WeightsMoved
from upsides.placing.conditions.who import Ages, Builds, Rated, Record
from upsides.placing.kinds import RunKind
from wider_weights import ON_THE_REST
from wider_wordings import ON_HORSES_TOO

NOT_READ = [
    "5lb claim allowed for amateur riders who have not ridden three winners",
    "In the event of balloting, horses with the highest rating have preference",
    "preference to horses that have not run in the last 14 days",
    "Entrance €100; forfeit €50 if declared by 28 July",
    "Selling price £6,000",
    "for every £1000 reduction in the claiming price 1lb allowed",
    "Plus 10 eligible",
    "Owners are reminded to carry passports",
    "Horses that have not run in the last 365 days need a certificate",
    "horses that have run in the preceding 48 hours may not run",
    "a horse may run only once in the series",
    "Only horses that ran in a qualifier may run in the final",
    "finished in the first four of a qualifying race",
    "Penalties do not apply to apprentice races",
    "apprentice-ridden horses allowed 3lb",
    "Foreign-trained horses are not eligible",
    "over an extended mile",
    "trained in Ireland for the last six months",
]
"""Ordinary wording that no form knows to its end."""


@pytest.mark.parametrize(("text", "expected"), [*ON_HORSES_TOO, *ON_THE_REST])
def test_ordinary_wording_is_read_whole(text: str, expected: tuple[Value, ...]) -> None:
    """Each wording is read to its end, without doubt, as the rules that a reader of conditions takes from it."""
    assert values(text) == expected


@pytest.mark.parametrize("text", NOT_READ)
def test_what_no_form_knows_is_shown(text: str) -> None:
    """Words that are not understood are shown, and a rule that stands beside them settles nothing."""
    read = read_conditions(text, on=ON, currency="GBP")
    assert read.unread != ()
    sure = [value for value in read.values if not read.wording_of(value)[1]]
    assert not any(isinstance(value, Record | Allowed | Penalty | Carries | WeightsMoved | Rated) for value in sure)


WITHOUT_RULE = (
    "weight",
    "the weights",
    "penalt",
    "a penalty",
    "the penalty",
    "allowance",
    "no penalties",
    "set weights",
    "with ",
    "no sex",
)
"""How headings begin, and sentences that add no rule."""
CLAUSES = [*(text for text, _ in (*ON_HORSES_TOO, *ON_THE_REST, *ON_HORSES, *ON_WEIGHT, *ON_CARD)), *NOT_READ]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(CLAUSES), min_size=1, max_size=8), st.sampled_from([". ", "; ", "\n", " "]))
def test_every_clause_is_a_rule_or_shown_as_not_read(clauses: list[str], between: str) -> None:
    """However clauses follow one another, each letter and figure is in a piece with a rule, in a piece that is shown as
    not read, or in a heading or sentence that conditions are known to write without a rule."""
    text = between.join(clauses)
    read = read_conditions(text, on=ON, currency="GBP")
    assert "".join(text[piece.start : piece.end] for piece in read.pieces) == text
    silent = [text[piece.start : piece.end].lower() for piece in read.pieces if piece.read and not piece.values]
    assert all(words.startswith(WITHOUT_RULE) for words in silent)
    assert " ".join(read.unread).strip() or all(piece.read for piece in read.pieces)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Allowances: maidens that have run fewer than three times 5lb", "maidens"),
        ("maidens which have run fewer than three times allowed 5lb", "maidens"),
        ("three-year-old maidens which have not run allowed 5lb", "three-year-old"),
        ("a bonus of £3,000 for fillies", "for fillies"),
        ("5lb claim and 2 kg more for three-year-olds", "for three-year-olds"),
        ("priority for three-year-olds", "for three-year-olds"),
        ("colts aged three which have run once in a handicap allowed 5lb", ""),
    ],
)
def test_whom_an_allowance_is_for_keeps_nobody_out(text: str, shown: str) -> None:
    """Words that only say whose an allowance is make no condition of the race, and where they are not all understood it
    is not counted."""
    read = read_conditions(text, on=ON)
    assert not any(isinstance(value, Ages | Builds | Record) for value in read.values)
    assert shown in " ".join(read.unread)
    assert all(read.wording_of(value)[1] for value in read.values if isinstance(value, Allowed)) is bool(shown)


def test_a_heading_between_does_not_hide_words_that_narrow() -> None:
    """Unread words before a heading in the same clause make what stands behind it doubtful."""
    read = read_conditions("Winners at evening meetings, a penalty of 5lb", on=ON)
    (penalty,) = read.values
    assert penalty == Penalty(lb(5), Record("won", 1))
    assert read.wording_of(penalty)[1]


def test_months_are_counted_back_from_the_race() -> None:
    """The last six months before a race of 31 August begin on the last of February, which has no thirty-first."""
    read = read_conditions("which have not won a race in the last six months", on=date(2025, 8, 31))
    assert read.values == (Record("won", most=0, kind=RunKind(first=date(2025, 2, 28))),)
