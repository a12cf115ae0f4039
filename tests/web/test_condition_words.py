"""How a horse is, in sentences, from answers whose parts are known."""

from datetime import date, timedelta

import pytest

from upsides.books.diary.blood import Analyte
from upsides.books.queries.condition_bloods import BloodSign
from upsides.books.queries.condition_vet import ForTheVet
from upsides.condition.fit import Fit, Kind, Piece, Points, fit_of
from upsides.web.condition.evidence import piece_words
from upsides.web.condition.sentences import about_fit, about_vet
from upsides.web.condition.words import ago

TODAY = date(2026, 6, 20)


def piece(kind: Kind, since: int, fitter: float, points: Points, change: float = 0.03) -> Piece:
    days = [TODAY - timedelta(days=back) for back in (since, 2)]
    return Piece(kind, days[0], days[1], change, change - 0.02, change + 0.02, fitter, points)


def fit(*pieces: Piece) -> Fit:
    return fit_of(pieces, TODAY)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ([], "some weeks ago"),
        ([9], "nine days ago"),
        ([20, 22], "three weeks ago"),
        ([21, 65], "three weeks to nine weeks ago"),
        ([23, 200], "three weeks to seven months ago"),
    ],
)
def test_how_long_ago_is_said_plainly(days: list[int], words: str) -> None:
    """Days, weeks or months, whichever is plainest; two ends where they differ."""
    assert ago(days) == words


def test_fitter_than_when_is_said() -> None:
    """The sentence says how long ago the day is that pieces are held against, by those that point anywhere; where they
    disagree each side has its own, and where none points it is that of all, with the chances that they give."""
    up, down = piece("speed at 200 beats", 21, 0.9, "fitter"), piece("recovery", 40, 0.1, "less fit")
    neither = piece("figures in races", 120, 0.5, "cannot tell", 0.0)
    assert about_fit(fit(up, neither), TODAY) == "fitter than three weeks ago, 9 in 10 by speed at 200 beats"
    assert about_fit(fit(down), TODAY) == "less fit than six weeks ago, 9 in 10 by the heart a minute after work"
    assert about_fit(fit(up, down), TODAY) == (
        "speed at 200 beats points to fitter than three weeks ago, the heart a minute after work to less fit than six "
        "weeks ago"
    )
    assert (
        about_fit(fit(neither), TODAY) == "whether it is fitter than four months ago cannot be told (fitter: 5 in 10)"
    )
    rather = piece("recovery", 120, 0.71, "cannot tell", 0.0)
    assert about_fit(fit(neither, rather), TODAY) == (
        "whether it is fitter than four months ago cannot be told (fitter: between 5 in 10 and 7 in 10)"
    )
    assert about_fit(fit(), TODAY) == "whether it is fitter than some weeks ago cannot be told"


def test_a_piece_that_cannot_tell_says_so() -> None:
    """A change that points nowhere is told neither as fitter nor as less fit, and nought has no sign."""
    words = piece_words(piece("speed at 200 beats", 21, 0.48, "cannot tell", -0.0001)).replace("\u00a0", " ")
    assert words.endswith(": 0.0 %, nine in ten between -2.0 and 2.0; this cannot tell (fitter: 5 in 10).")
    races = piece_words(piece("figures in races", 120, 0.5, "cannot tell", 1.0)).replace("\u00a0", " ")
    assert races.endswith(": 1 lb, nine in ten between 1 and 1; this cannot tell (fitter: 5 in 10).")
    assert "by this fitter, 9 in 10." in piece_words(piece("speed at 200 beats", 21, 0.9, "fitter"))


def test_strides_are_told_beside_bloods_and_by_themselves() -> None:
    """What became of its strides is told beside a blood result, and alone with whom to ask."""
    strides = ["its stride is shorter than it was"]
    blood = BloodSign(Analyte("SAA", 640.0, "mg/l", high=20.0), "Moor End", TODAY, None, None)
    assert about_vet(ForTheVet((), (), None, (blood,)), strides) == (
        "in its blood SAA to ask the vet about; its stride is shorter than it was"
    )
    assert about_vet(ForTheVet((), (), None), strides) == "its stride is shorter than it was: ask the vet"
    assert about_vet(ForTheVet((), (), None)) == "nothing stands open for the vet"
