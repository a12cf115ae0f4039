"""Every text of a refusal is marked where it is raised, and keeps from what it was made."""

import ast
import pickle
import re
from collections.abc import Iterator
from collections.abc import Set as Names
from copy import deepcopy
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

import upsides.errors
from upsides.errors import UpsidesError
from upsides.errors.wording import Words, as_kept, gettext, joined, of_kept

SOURCE = Path(upsides.errors.__file__).parents[1]
NOT_ON_PAGES = ("cli", "demo")
"""What only speaks to those who type commands."""
MARKS = {"_", "gettext"}
TELLING = {"remark", "refusals", "_flag", "Fault", "leave"}
"""What is given a reason of a row or a cell that was not taken, beside refusals."""
TABLES = {"results", "books"}
"""Where tables are taken in that pages tell of."""
CLASSES = {
    name for name, one in vars(upsides.errors).items() if isinstance(one, type) and issubclass(one, UpsidesError)
}


def _name(call: ast.expr) -> str:
    return call.id if isinstance(call, ast.Name) else call.attr if isinstance(call, ast.Attribute) else ""


def _texts(node: ast.AST) -> Iterator[ast.Constant | ast.JoinedStr]:
    """Yield texts of several words that stand in an argument and are not marked."""
    if isinstance(node, ast.Call) and (_name(node.func) in MARKS or _name(node.func) == "join"):
        return
    if isinstance(node, ast.JoinedStr):
        parts = "".join(part.value if isinstance(part, ast.Constant) else "{}" for part in node.values)
        if re.search("[a-z]{2}", parts) and " " in parts:
            yield node
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        if re.search("[a-z]{2}.* ", node.value):
            yield node
    elif isinstance(node, (ast.IfExp, ast.BoolOp)):
        for inner in ast.iter_child_nodes(node):
            yield from _texts(inner)


def unmarked(source: str, names: Names[str] = frozenset(CLASSES | TELLING)) -> list[int]:
    """Return the lines on which a text of several words is given to a refusal and not marked."""
    called = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    calls = (call for call in called if _name(call.func) in names)
    given = (each for call in calls for each in [*call.args, *(word.value for word in call.keywords)])
    return [text.lineno for each in given for text in _texts(each)]


@pytest.mark.parametrize("folder", sorted(path.name for path in SOURCE.iterdir() if (path / "__init__.py").is_file()))
def test_texts_of_refusals_are_marked(folder: str) -> None:
    """No refusal that a page could show is raised with a sentence that is not gathered for translation."""
    if folder in NOT_ON_PAGES:
        pytest.skip("commands speak English")
    files = sorted((SOURCE / folder).rglob("*.py"))
    names = CLASSES | TELLING if folder in TABLES else CLASSES
    left = {f"{path.relative_to(SOURCE)}:{line}" for path in files for line in unmarked(path.read_text("utf-8"), names)}
    assert left == set()


@pytest.mark.parametrize(
    ("source", "lines"),
    [
        ('raise LineRefusedError("day", "it is no day", _("write one"))', [1]),
        ('raise LineRefusedError(_("day"), _("it is no day"), _("write one"))', []),
        ('raise LineRefusedError("day",\n f"there is no {day} then", "" if well else "write another")', [2, 2]),
        ('raise LineRefusedError("day", " and ".join(days), _("write {one}", one=one))', []),
        ('raise ValueError("it is no day")', []),
        ('notes.append(remark(odd, "draw", "two of one draw"))', [1]),
        ('notes.append(remark(odd, "draw", _("two of one draw")))', []),
    ],
)
def test_what_is_not_marked_is_found(source: str, lines: list[int]) -> None:
    """A text of several words, also one with values or after a condition, is found; one word, a list and others not."""
    assert unmarked(source) == lines


def pickled(text: Words) -> Words:
    """Return a text as another process gets it."""
    back: Words = pickle.loads(pickle.dumps(text))  # noqa: S301 (its own bytes)
    return back


def test_a_refusal_is_english_and_keeps_its_parts() -> None:
    """Without anybody's language a text reads as English; sentence and values stay with it through str and pickle."""
    text = gettext("{horse} weighs {mass:.1f} kg, {why}", horse="Tallow", mass=481.96, why=gettext("on a tape"))
    assert text == "Tallow weighs 482.0 kg, on a tape"
    for one in (text, str(text), str(UpsidesError(text)), deepcopy(text), pickled(text)):
        assert isinstance(one, Words)
        assert one.sentence == "{horse} weighs {mass:.1f} kg, {why}"
        assert one.values == {"horse": "Tallow", "mass": 481.96, "why": "on a tape"}


def test_braces_stay_where_nothing_is_filled_in() -> None:
    """A text without values may hold braces."""
    assert gettext("write { H = 1 }") == "write { H = 1 }"


def test_texts_are_joined_with_their_parts() -> None:
    """Joined texts read as joined, and each part is still there to translate."""
    both = joined([gettext("it is empty"), "Tallow"], by="; ")
    assert both == "it is empty; Tallow"
    assert [isinstance(part, Words) for part in both.values.values()] == [True, False]


@pytest.mark.parametrize(
    "value",
    ["Tallow", 3, 2.5, date(2026, 6, 1), datetime(2026, 6, 1, 17, 30, tzinfo=UTC), np.int64(4), np.float64(0.5), True,
     Path("a/b"), None, gettext("{count} of them", count=2), joined(["one", gettext("two")], by=" or ")],
)  # fmt: skip
def test_what_is_kept_reads_the_same(value: object) -> None:
    """A text comes back from what JSON holds of it, in the same words and with the same sentence, whatever is in it."""
    text = gettext("it is {value}", value=value)
    back = of_kept(as_kept(text))
    assert isinstance(back, Words)
    assert (back, back.sentence) == (text, text.sentence)


def test_a_day_is_kept_as_one() -> None:
    """A day or moment in a text can still be written another way when it is read back."""
    text = gettext("not after {by:%d %B %Y, %H:%M}", by=datetime(2026, 6, 1, 17, 30, tzinfo=UTC))
    assert of_kept(as_kept(text)) == "not after 1 June 2026, 17:30"


def test_plain_texts_are_kept_as_they_are() -> None:
    """What an earlier version kept is text, and stays so."""
    assert (as_kept("it breaks off"), of_kept("it breaks off")) == ("it breaks off", "it breaks off")
