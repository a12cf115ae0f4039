"""Reasons why rows and cells are not taken, out of frames and back into sentences that can be translated."""

import polars as pl
import pytest

from upsides.results import cells, reasons


@pytest.mark.parametrize(
    ("text", "sentence", "values"),
    [
        ("left out by the shape: a harness race", reasons.LEFT_OUT, {"reason": "a harness race"}),
        ("left out by the shape: date is missing", reasons.LEFT_OUT, {"reason": "date is missing"}),
        ("race_id is missing", reasons.MISSING, {"field": "race_id"}),
        ("not cp1252", reasons.NOT_THAT_ENCODING, {"encoding": "cp1252"}),
        (
            "the horse would be younger than 1 or older than 30 on the day",
            reasons.NOT_OF_THAT_AGE,
            {"youngest": "1", "oldest": "30"},
        ),
        (cells.NOT_DATE, "not a date", {}),
        (cells.NOT_NUMBER, "not a number", {}),
        ("what nobody foresaw", "what nobody foresaw", {}),
    ],
)
def test_a_reason_is_known_again(text: str, sentence: str, values: dict[str, str]) -> None:
    """Text out of a frame reads as before and has the sentence and the values it was made of."""
    found = reasons.worded(pl.Series([text])[0])
    assert (found, found.sentence, found.values) == (text, sentence, values)
