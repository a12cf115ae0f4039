"""How a horse is, in sentences, from answers whose parts are known."""

from dataclasses import asdict, replace
from datetime import date, timedelta

import pytest

from upsides.books.diary.blood import Analyte
from upsides.books.queries.condition_bloods import BloodSign
from upsides.books.queries.condition_first import LookAt
from upsides.books.queries.condition_vet import ForTheVet
from upsides.cli.condition_lines import sign_line
from upsides.cli.look_at import _as_lines
from upsides.condition.fit import Fit, Kind, Piece, Points, fit_of
from upsides.condition.fresh.answer import SinceRun
from upsides.condition.fresh.gaps import GapEffect, UsualGap
from upsides.condition.fresh.latest import Latest, Missing
from upsides.web.condition.evidence import even_words, piece_words, sign_words, since_run_words, warmth_words
from upsides.web.condition.look_page import about_looks, watched_words
from upsides.web.condition.sentences import about_fit, about_vet
from upsides.web.condition.words import ago, missing_words

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
    assert about_fit(fit(down), TODAY) == "less fit than six weeks ago, 9 in 10 by the heart a minute after work alone"
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


def test_a_chance_says_by_which_of_all_that_was_looked_at() -> None:
    """One piece that points among several that do not is told as alone, with how many others cannot tell; so are those
    others where two point, whether these agree or not."""
    up, other = piece("speed at 200 beats", 21, 0.9, "fitter"), piece("speed at highest heart", 21, 0.9, "fitter")
    neither, nor = (piece(kind, 21, 0.5, "cannot tell", 0.0) for kind in ("figures in races", "speed on known gallops"))
    down = piece("recovery", 21, 0.1, "less fit")
    ago_ = "three weeks ago, 9 in 10 by "
    assert about_fit(fit(up, neither), TODAY) == f"fitter than {ago_}speed at 200 beats alone (one other cannot tell)"
    assert about_fit(fit(down, neither, nor), TODAY) == (
        f"less fit than {ago_}the heart a minute after work alone (two others cannot tell)"
    )
    assert about_fit(fit(up, other, neither), TODAY) == (
        f"fitter than {ago_}speed at 200 beats and speed at its highest heart rate (one other cannot tell)"
    )
    assert about_fit(fit(up, down, neither), TODAY).endswith("less fit than three weeks ago (one other cannot tell)")


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


def test_what_says_nothing_is_told_by_why() -> None:
    """What was not measured has its days or none in the last months; what was, and has too little before it or was not
    worked out, says that it was and when; the answer says so where nothing else is there."""
    lacks = [
        Missing("recovery", 40), Missing("figures in races", 20, "nothing before"),
        Missing("speed at 200 beats", 0, "not worked out"), Missing("speed on known gallops", None),
    ]  # fmt: skip
    assert missing_words(lacks) == [
        "the heart a minute after work not for 40 days",
        "figures in races: the last 20 days ago, with too little before it to hold it against",
        "speed at 200 beats: the last today; what it says was not worked out for this day",
        "speed on known gallops not at all in the last months",
    ]
    none = fit_of([], TODAY, measured={"recovery": TODAY}, untold=["recovery"])
    assert about_fit(none, TODAY) == "whether it is fitter than some weeks ago was not worked out for this day"


def test_it_is_said_how_far_warmth_is_taken_out() -> None:
    """Beside trends stands whether how warm it was is taken out: of all readings, of some, or of none and why."""
    assert warmth_words(0, 0) == ""
    assert "nobody kept it" in warmth_words(0, 5)
    assert warmth_words(5, 5) == "How warm it was is taken out of hearts and speeds."
    assert "of 2 readings of the yard's 5" in warmth_words(2, 5)


def test_how_even_strides_were_is_held_against_its_own_past() -> None:
    """Less even than nine in ten of its own asks for the vet and names no leg; as usual is told without; of few earlier
    ones, or of none lately, nothing is concluded."""
    below = even_words(Latest("evenness at trot", 0.9, 1, 0.98, 0.95, 1.01, 8, "below"))
    assert "1 day ago: 0.90, less than it was (usual 0.98, nine in ten between 0.95 and 1.01)" in below
    assert below.endswith("It does not say in which leg or why: ask the vet.")
    within = even_words(Latest("evenness at trot", 0.97, 0, 0.98, 0.95, 1.01, 8, "within"))
    assert within == "Evenness of its strides at trot today: 0.97 (usual 0.98, nine in ten between 0.95 and 1.01)."
    few = even_words(Latest("evenness at trot", 0.97, 0, 0.98, 0.95, 1.01, 2, "cannot be told"))
    assert few == "Evenness of its strides at trot today: 0.97; 2 earlier ones are too few to tell."
    assert (even_words(Missing("evenness at trot", 40)), even_words(None)) == ("", "")


@pytest.mark.parametrize(
    ("ends", "said"),
    [((1.2, 0.4, 2.0), "better by 1.2"), ((-1.2, -2.4, -0.04), "worse by 1.2")],
)
def test_runs_after_a_gap_are_better_or_worse(ends: tuple[float, float, float], said: str) -> None:
    """What results say of a gap is told as better or worse than after the usual one, with the signs of its ends."""
    usual = UsualGap(17.0, 24.0, 39.0, 800)
    words = since_run_words(SinceRun(6, 8.0, usual, GapEffect(*ends, 90, "told")))[1].replace("\u00a0", " ")
    low, high = {"better by 1.2": ("+0.4", "+2.0"), "worse by 1.2": ("−2.4", "0.0")}[said]
    assert words.startswith(
        f"Runs after such a gap were {said} lb than after the usual gap (nine in ten between {low} "
    )
    assert f"and {high}, 90 runs)." in words
    assert words.endswith("it does not say what another gap would have done.")


def test_one_reading_within_its_usual_is_told_apart_from_what_the_watch_finds() -> None:
    """Of a sign that the watch finds off the latest reading within its usual is told, on the page and by the command,
    as one by itself with nothing taken out; of a sign that nothing finds off, and of a reading that is off, not."""
    within = Latest("recovery", 135.4, 2, 130.3, 122.0, 138.7, 20, "within")
    assert "by itself" in sign_words(within, drifting=True)
    assert "work, ground, warmth and rider are not taken out" in sign_words(within, drifting=True)
    assert "by itself, as read" in sign_line(asdict(within), drifting=True)
    mass = replace(within, what="mass")
    assert sign_words(mass, drifting=True).endswith("This is one reading by itself.")
    assert sign_line(asdict(mass), drifting=True).endswith("(this one reading by itself)")
    for words in (
        sign_words(within),
        sign_line(asdict(within), drifting=False),
        sign_words(replace(within, where="above"), drifting=True),
        sign_line(asdict(replace(within, where="above")), drifting=True),
    ):
        assert "by itself" not in words


def test_of_a_day_before_the_books_nothing_is_known() -> None:
    """Of a day with no horse in training page and command say that nothing is known of it, never that nobody needs eyes
    or that readings were watched; of a day without an answer the page says so."""
    empty = LookAt((), 0, 0, (), (), date(1999, 1, 1), None, 0)
    said = "Nothing is known of that day: the books have no horse in training on it."
    assert (about_looks(empty), watched_words(empty), _as_lines(empty)) == (said, "", [said])
    unwatched = replace(empty, watched=None, string=3)
    assert about_looks(unwatched) == "Nothing that was entered or read asks for anybody's eyes."
    assert watched_words(unwatched) == (
        "What stands out in the readings was not worked out for this day; every night does it."
    )
