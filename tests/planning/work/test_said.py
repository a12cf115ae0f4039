"""What is said of plans: every code has its sentence, every sentence its code, every shipped text its wording."""

import ast
import re
import tomllib
from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

import upsides
from upsides.planning.work.routine import PARTS
from upsides.planning.work.said import DAYS, OF_TEXTS, TOGETHER, Said, plain
from upsides.planning.work.shared import SHARED
from upsides.planning.work.stalls import PATH
from upsides.planning.work.texts import TEXTS
from upsides.planning.work.wording import OF_RULES, SENTENCES

SOURCE = Path(upsides.__file__).parent
NAMES = re.compile(r"%\((\w+)\)s")
MADE = {
    *(f"otherwise_{part}" for part in PARTS),
    *(f"next_{step}" for step in PATH),
    *(f"{code}_because" for code in ("departs", "week_departs")),
    "bend",
    "sprint",
}
"""Codes that are put together: of a part of the cost, a step, a departure with reasons; why a break counts."""


def calls(name: str, *places: Path) -> Iterator[ast.Call]:
    """Yield the calls of something by its name."""
    for file in places:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            called = getattr(getattr(node, "func", None), "id", "")
            if isinstance(node, ast.Call) and called == name:
                yield node


def constants(nodes: list[ast.expr]) -> set[str]:
    """Return the texts that stand in some places of calls."""
    found = (one for node in nodes for one in ast.walk(node) if isinstance(one, ast.Constant))
    return {one.value for one in found if isinstance(one.value, str)}


def test_every_code_has_a_sentence() -> None:
    """No code is said, and no rule is kept, that has no sentence; every sentence's code is said somewhere."""
    places = [*(SOURCE / "planning" / "work").glob("*.py"), *(SOURCE / "books").rglob("*.py")]
    said = constants([call.args[0] for call in calls("Said", *places)]) - {"otherwise_", "next_", "_because"}
    kinds = constants([call.args[0] for call in calls("Rule", *places)]) | SHARED | {"vet", "stand_down"}
    coded = {"departs", "week_departs"}
    assert said | kinds | MADE | coded == set(SENTENCES)
    assert kinds == set(OF_RULES)


@pytest.mark.parametrize("code", SENTENCES)
def test_both_forms_say_the_same(code: str) -> None:
    """A sentence has one form, or two that say the same values, the number among them or in neither."""
    forms = SENTENCES[code]
    assert 1 <= len(forms) <= 2
    assert len({frozenset(NAMES.findall(form)) for form in forms}) == 1


def test_every_text_of_the_shipped_routine_has_a_wording() -> None:
    """Titles of orders, names of stages and who says so can be translated as the shipped file has them."""
    found = tomllib.loads(files("upsides.planning").joinpath("data", "work.toml").read_text(encoding="utf-8"))
    stages = [one for kind in found["kind"].values() for one in kind.get("stage", ())]
    titles = {one["title"] for one in found["order"].values()}
    names, sources = {one["name"] for one in stages}, {one["source"] for one in stages if "source" in one}
    assert titles | names | sources | {found["source"], "nothing"} <= TEXTS


def test_every_reason_to_refuse_a_horse_has_a_wording() -> None:
    """Why a horse's facts cannot be right, and what to do, can be translated."""
    checked = SOURCE / "planning" / "work" / "checking.py"
    said = constants([arg for call in calls("WorkRefusedError", checked) for arg in call.args[2:]])
    assert said
    assert said <= TEXTS


def test_a_sentence_is_kept_and_read_back() -> None:
    """Days, lists and sentences within a sentence are read back as what they were, and said alike."""
    reasons = (Said("workers", {"count": 1, "day": date(2026, 12, 4)}), Said("unknown"))
    one = Said("departs_because", {"day": date(2026, 12, 4), "order": "walk", "routine": "trot", "reasons": reasons})
    assert Said.of_json(one.as_json()) == one
    assert dict(Said.of_json(one.as_json()).values) == dict(one.values)
    words = "no more than 1 does fast work on Fri 4 Dec and it is not open on that day"
    assert plain(one) == f"Fri 4 Dec: walk instead of trot, because {words}."


def test_what_an_earlier_version_kept_is_read_as_it_was_written() -> None:
    """A sentence that was kept in English says itself, and is told to be as written."""
    old = Said.of_json("Sun 21 Jun: 100 % as it was.")
    assert plain(old) == "Sun 21 Jun: 100 % as it was."
    assert old.as_written
    assert not Said("learned").as_written


def test_values_are_read_by_their_names() -> None:
    """Every name of a day, a text or a list that is read by its name stands in some sentence."""
    names = {name for forms in SENTENCES.values() for form in forms for name in NAMES.findall(form)}
    assert names >= DAYS | OF_TEXTS | TOGETHER
