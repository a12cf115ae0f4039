"""The path to the stalls. Steps and their order are common practice, no source."""

from datetime import date, timedelta

import pytest

from upsides.books.diary.work import HOW, STALLS
from upsides.planning.work.said import plain
from upsides.planning.work.stalls import (
    COMPOSED,
    PATH,
    STANDS_FOR,
    Lesson,
    quiet,
    reminded,
    reminder,
    standing,
    told,
)

DAY = date(2026, 3, 2)


def _lessons(*done: tuple[str, str | None]) -> list[Lesson]:
    return [
        Lesson(DAY + timedelta(days=7 * k), frozenset(word.split()) - {"company"}, how, "company" in word)
        for k, (word, how) in enumerate(done)
    ]


def test_the_words_are_those_of_the_diary() -> None:
    """Every step, every form of one, and composed are words of the diary's entry on stalls."""
    assert {*PATH, *STANDS_FOR, *STANDS_FOR.values()} == set(STALLS)
    assert COMPOSED in HOW


@pytest.mark.parametrize(
    ("done", "then"),
    [
        ((), "walked_through"),
        ((("walked_through", "composed"),), "stood"),
        ((("walked_through", None), ("shut", "composed")), "jumped"),
        ((("walked_through stood", "composed"), ("jumped", "composed")), "company"),
        ((("jumped company", "composed"),), "test"),
        ((("jumped company", "composed"), ("test", "composed")), None),
        ((("walked_through", "composed"), ("stood", "refused")), "walked_through"),
        ((("jumped", "composed"), ("jumped company", "uneasy")), "stood"),
        ((("walked_through", "uneasy"),), "walked_through"),
    ],
)
def test_a_composed_lesson_takes_a_step_and_another_takes_one_back(
    done: tuple[tuple[str, str | None], ...], then: str | None
) -> None:
    """What was composed is learned; what was not is tried again from the step before."""
    assert standing(_lessons(*done)).then == then


def test_company_counts_where_it_jumped() -> None:
    """In company is a step where the horse jumped, whether the entry says it or the order of the day; else none."""
    said = Lesson(DAY, frozenset({"jumped", "company"}), "composed")
    assert said.steps == Lesson(DAY, frozenset({"jumped"}), "composed", company=True).steps == {"jumped", "company"}
    walked = Lesson(DAY, frozenset({"walked_through", "company"}), "composed")
    assert walked.steps == {"walked_through"}
    assert standing([said]).then == "test"


def test_who_has_learned_is_left_alone() -> None:
    """After the test, or a run, no lesson is left; where no certificate is asked for the test is none."""
    whole = _lessons(("jumped company", "composed"), ("test", "composed"))
    assert standing(whole).learned
    assert standing((), last_run=DAY).learned
    assert standing(whole[:1], test=False).learned
    assert [plain(one) for one in told(standing(whole))] == ["It has learned the stalls and is left alone."]


def test_a_run_ends_the_path_whatever_was_before_it() -> None:
    """Refused and then ran: left alone. Refused after its run: not, until what it refused was composed."""
    refused = _lessons(("walked_through", "composed"), ("jumped", "refused"))
    assert standing(refused).then == "stood"
    assert standing(refused, last_run=refused[-1].day).learned, "of one day the lesson came before the run"
    assert standing(refused, last_run=refused[-1].day + timedelta(days=9)).learned
    since = standing(refused, last_run=refused[0].day)
    assert (since.learned, since.then, since.last) == (False, "stood", refused[-1])
    again = [*refused, Lesson(refused[-1].day + timedelta(days=3), frozenset({"stood"}))]
    assert standing(again, last_run=DAY).then == "jumped", "standing is not yet what it refused"
    again.append(Lesson(refused[-1].day + timedelta(days=9), frozenset({"jumped"}), "composed"))
    assert standing(again, last_run=DAY).learned


def test_the_break_counts_at_a_bend_or_over_a_sprint() -> None:
    """Near a bend, or over a sprint, a horse long away from stalls is brought to mind, else not."""
    learned = standing(_lessons(("jumped company test", "composed")))
    soon, late = DAY + timedelta(days=20), DAY + timedelta(days=200)
    assert reminder(learned, late, 1600.0, 180.0) is not None
    assert reminder(learned, late, 1000.0) is not None
    assert reminder(learned, late, 1600.0, 900.0) is None
    assert reminder(learned, soon, 1000.0, 180.0) is None
    assert reminder(learned, late, 1000.0, last_run=late - timedelta(days=14)) is None
    said = reminder(standing(()), soon, 1200.0, 250.0)
    assert said is not None
    assert (said.why, said.metres, said.days, said.slow) == ("bend", 250.0, None, False)
    assert plain(told(standing(()), said)[1]) == (
        "The first bend is 250 m from the stalls, so the break counts; it has never been at stalls."
    )


def test_a_slow_break_is_brought_to_mind() -> None:
    """A horse that came out slowly in its last lesson is brought to mind even when that was lately."""
    slow = [Lesson(DAY, frozenset({"jumped", "test"}), "composed", company=True, broke="slow")]
    said = reminder(standing(slow), DAY + timedelta(days=5), 1000.0)
    assert plain(told(standing(slow), said)[1]) == (
        "The race is over 1000 m, so the break counts; it was last at stalls 5 days before, and was slow away."
    )
    ran = DAY + timedelta(days=3)
    assert (
        reminder(standing((), last_run=ran), ran + timedelta(days=9), 1000.0, last_run=ran, slow_away=True) is not None
    )


def test_who_has_not_learned_is_brought_to_mind_whatever_the_race() -> None:
    """With lessons left a horse is brought to mind over any trip; in a sprint that is said besides the break."""
    part, soon = standing(_lessons(("walked_through", "composed"))), DAY + timedelta(days=20)
    said = reminder(part, soon, 2400.0, 900.0)
    assert said is not None
    assert plain(reminded(said)).startswith("It has not gone the whole path to the stalls; it was last at stalls")
    assert len(told(part, said)) == 1, "beside the next step it needs no saying"
    sprint = reminder(part, soon, 1000.0)
    assert sprint is not None
    assert plain(reminded(sprint)).endswith("and has not gone the whole path.")


def test_what_is_not_brought_to_mind_is_told_why() -> None:
    """Where there is nothing to mind it is said whether the break counts less, by trip and bend, or was seen to."""
    assert plain(quiet(1000.0)) == (
        "The race is over 1000 m, so the break counts; it knows stalls, was at some lately and was not slow away."
    )
    assert plain(quiet(2000.0, 450.0)) == (
        "The break counts less there: the race is over 2000 m, and the first bend is 450 m from the stalls."
    )
    assert plain(quiet(1600.0, straight=True)).endswith("and the course is straight.")
    assert plain(quiet(1600.0)).endswith("and it is not entered how far the first bend is from the stalls.")
    assert plain(quiet(1600.0, slow=True)).startswith("It was slow away the last time at stalls;")
