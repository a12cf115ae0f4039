"""Plans in the reader's language: every sentence, every text of the shipped routine, and both pages as a whole."""

import re
from datetime import date
from typing import Any

import pytest

from upsides.books.models import Horse, Person, Yard
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.services.answers import store
from upsides.planning.work.said import Said, plain
from upsides.planning.work.stalls import PATH
from upsides.planning.work.texts import TEXTS
from upsides.planning.work.wording import OF_PARTS, OF_RULES, SENTENCES
from upsides.web.planning.words import said_words, text_words
from web.test_plan_pages import hands, planned, read, string  # noqa: F401 -- fixtures
from web.test_translation import MARKED, WORD, marked_language, unmarked, without_data
from worlds import ClientAs

DAY = date(2026, 6, 21)
REASONS = (*OF_RULES, *OF_PARTS)


def said(code: str, count: int = 3) -> Said:
    """Return a sentence with values such as a plan has."""
    values: dict[str, Any] = {
        "count": count, "horse": "Zwalk", "order": "hack canter", "routine": "swim", "day": DAY, "last": DAY, "off": 2,
        "metres": 1600.0, "speed": 14.5, "gallop": 7, "exercises": ("walk", "nothing"), "on": (DAY, DAY), "typed": "9",
        "rest": 2, "stage": "race week", "source": "common practice, no source", "reason": "it is no limit",
        "remedy": "correct it", "before": "trot", "partner": "Zwalk", "least": 3, "lessons": 1, "furlongs": 3.5,
        "low": 6, "high": 7.5, "steps": 3.7,
    }  # fmt: skip
    match code:
        case "summary":
            values |= {"fast": said("fast", count), "off": said("not_routine", count)}
        case "outside" | "outside_because":
            values |= {"week": said("of_week"), "has": (said("week_no_fast"), said("week_lessons", count))}
        case "week_no_fast" | "week_fast" | "week_no_canter" | "week_canter":
            values["span"] = said("span_two")
        case "better":
            values |= {"less": said("steps", count), "orders": (said("order_on"), said("order_on"))}
        case "span" | "span_day":
            values["orders"] = (said("of_order", count), said("of_order", 1))
        case "break_counts":
            values |= {"why": said("bend"), "ago": said("last_there", count)}
        case "path_left":
            values["ago"] = said("never_there")
        case "break_known":
            values["why"] = said("sprint")
        case "break_less" | "break_less_slow":
            values["bend"] = said("bend_far")
    if code.endswith("_because"):
        values["reasons"] = tuple(said(one, count) for one in ("rider", "otherwise_late", "workers"))
    names = {name for form in SENTENCES[code] for name in re.findall(r"%\((\w+)\)s", form)}
    return Said(code, {name: value for name, value in values.items() if name in names})


def shown() -> list[Said]:
    """Return every sentence that a plan can show, each reason in one of them."""
    whole = [code for code in SENTENCES if code not in REASONS and code not in {"of_order", "bend", "sprint"}]
    departs = [Said("departs_because", said("departs").values | {"reasons": (said(code),)}) for code in REASONS]
    return [said("summary"), *map(said, whole), *departs]


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize("code", SENTENCES)
def test_the_page_says_what_the_command_says(code: str, count: int) -> None:
    """In English the page has the command's sentence, of one and of several."""
    one = said(code, count)
    assert said_words(one) == plain(one)


@pytest.mark.parametrize("code", SENTENCES)
def test_every_sentence_can_be_translated(code: str) -> None:
    """In a marked language no letter of a sentence but names and units is unmarked."""
    with marked_language():
        words = said_words(said(code))
    assert not WORD.search(without_data(words, ["Zwalk"]))
    assert MARKED.search(words)


@pytest.mark.parametrize("text", sorted(TEXTS))
def test_every_text_of_the_shipped_routine_can_be_translated(text: str) -> None:
    """In a marked language it is marked; what a yard called its own is not."""
    with marked_language():
        assert not WORD.search(without_data(text_words(text), []))
        assert text_words("twice up the bank") == "twice up the bank"


def answer_with(horses: list[Horse], sentences: list[Any]) -> None:
    """Keep the plan anew with other sentences."""
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    a, _b, c = (str(one.pk) for one in horses)
    kept = {number: one | {"stages": [], "says": []} for number, one in row.values["horses"].items()}
    kept[a] |= {"says": sentences, "stages": sentences[:4], "later": sentences[-4:]}
    days = [
        [order, routine] for (_order, routine), (order, _) in zip(kept[a]["days"], kept[a]["days"][1:], strict=False)
    ]
    other = {"more": -3.7, "changes": 1, "proven": False, "says": sentences[:2], "later": [], "leaves": []}
    first, last, *done = kept[a]["weeks"][0]
    kept[a] |= {"change": 1.5, "weeks": [[first, last, *done, [0.0, 0.5], [70.0, 70.0]]]}
    kept[a] |= {"others": [other | {"days": [*days, kept[a]["days"][-1]]}]}
    parts = [[603, 15.5, 12.0, "turf"], [400, 9.0, -3.0, "turf"]]
    orders = {name: [*one[:4], None, parts] for name, one in row.values["orders"].items()}
    store(PLAN, row.day, row.values | {"orders": orders, "horses": kept, "clashes": {c: sentences[1:]}}, {})


def test_no_english_is_left_on_the_pages_of_plans(planned: list[Horse], client_as: ClientAs) -> None:  # noqa: F811
    """With every sentence that a plan can say, both pages of plans are marked in a marked language but for names."""
    answer_with(planned, [one.as_json() for one in shown()])
    trainer, names = client_as("trainer"), {"Zwalk", *(one.name for one in planned)}
    names |= {name for rows in (Person, Yard) for name in rows.objects.values_list("name", flat=True)}
    for path in ("/plan/", *(f"/horse/{one.pk}/plan/" for one in planned)):
        with marked_language():
            page = read(trainer, path)
        assert MARKED.search(page)
        assert unmarked(page, names) == []
        assert 'lang="en"' not in page


def test_what_an_earlier_version_kept_is_shown(planned: list[Horse], client_as: ClientAs) -> None:  # noqa: F811
    """Sentences that were kept in English stand on the pages as they were, and are marked as English."""
    old = ["In short.", *(f"Line {step}." for step in PATH)]
    answer_with(planned, old)
    own, clash = (read(client_as("trainer"), f"/horse/{planned[place].pk}/plan/") for place in (0, 2))
    assert '<li lang="en">Line stood.</li>' in own
    assert '<li lang="en">Line test.</li>' in clash
    assert "In short." not in own.partition("Other than the routine")[2].partition("<h2>")[0]
