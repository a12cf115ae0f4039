"""Nothing of a wording is lost: every character is read, or shown as not read."""

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.placing.conditions.reading import read_conditions

ON = date(2025, 8, 1)
SCRAPS = st.sampled_from(
    [
        *("for two-year-olds", "only", "fillies", "and", "mares", "which have not won", "a race", "since", "June 1"),
        *("9st 2lb", "allowed", "5lb", ";", ",", ". ", "\n", "Penalties:", "a winner", "of 2 races", "Class 3", "or"),
        *("rated 0-85", "maidens at closing", "non-winners of two races", "at a mile or over", "£10,000", "(", ")"),
        *("Three Year Olds, 118 lbs.", "Older", "claiming price $25,000", "for each", "the property of subscribers"),
        *("½", "—", "\u00a0", "ſ", "İ", "9-7", "1m 2f", "bred in", "Ireland", "sold at public auction"),
        *("as yearlings", "minimum weight 54kg", "no", "geldings", "apprentice riders"),
    ]
)
WORDINGS = st.lists(SCRAPS | st.text(max_size=6), max_size=14).flatmap(
    lambda scraps: st.sampled_from([" ".join(scraps), "".join(scraps)])
)


@settings(max_examples=250, deadline=None)
@given(WORDINGS)
def test_pieces_add_up_to_the_wording(text: str) -> None:
    """The pieces of any wording, read and unread, are the wording again when they are laid end to end."""
    read = read_conditions(text, on=ON, currency="GBP")
    assert "".join(text[piece.start : piece.end] for piece in read.pieces) == text
    assert all(piece.start < piece.end for piece in read.pieces)
    assert all(piece.read or not piece.values for piece in read.pieces)


@settings(max_examples=150, deadline=None)
@given(st.lists(SCRAPS, max_size=8), st.text("bcdfghjklmnpqrstvwxz", min_size=9, max_size=14))
def test_an_unknown_word_is_shown(scraps: list[str], word: str) -> None:
    """A word that no form knows is among the words that were not read, wherever it stands."""
    for place in range(len(scraps) + 1):
        text = " ".join([*scraps[:place], word, *scraps[place:]])
        assert any(word in shown for shown in read_conditions(text, on=ON).unread)


def test_a_wording_without_end_is_shown_from_where_reading_stops() -> None:
    """Only so many characters are read; the rest is shown, not dropped."""
    text = "For three-year-olds only. " * 1000
    read = read_conditions(text, on=ON)
    assert sum(piece.end - piece.start for piece in read.pieces) == len(text)
    assert len(read.unread[-1]) > 10_000
