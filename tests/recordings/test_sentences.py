"""What is said of a reading: every code has its sentence, every sentence its code and its values."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import upsides
from upsides.recordings.recording import Message
from upsides.recordings.sentences import SENTENCES

SOURCE = Path(upsides.__file__).parent
TOLD = {"Message", "_tell", "_counted", "_say", "_leave_out"}
NAMES = re.compile(r"%\((\w+)\)s")


def told() -> Iterator[str]:
    """Yield the codes that stand in the code of recordings, as what tells a message is called."""
    for file in [*(SOURCE / "recordings").rglob("*.py"), *(SOURCE / "books").rglob("*.py")]:
        for node in ast.walk(ast.parse(file.read_text())):
            called = getattr(getattr(node, "func", None), "id", getattr(getattr(node, "func", None), "attr", ""))
            if isinstance(node, ast.Call) and called in TOLD:
                yield from (
                    one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)
                )


def test_every_code_has_a_sentence() -> None:
    """No message is told whose code has no sentence, and every sentence's code stands somewhere in the code."""
    assert set(told()) <= set(SENTENCES)
    places = [*(SOURCE / "recordings").rglob("*.py"), *(SOURCE / "books").rglob("*.py")]
    text = " ".join(file.read_text() for file in places if file != SOURCE / "recordings" / "sentences.py")
    assert [code for code in SENTENCES if f'"{code}"' not in text] == []


@pytest.mark.parametrize("code", SENTENCES)
def test_a_sentence_begins_small_and_has_no_stop(code: str) -> None:
    """A sentence can stand behind a colon and before a stop, in both forms, and says the same values in both."""
    forms = SENTENCES[code]
    assert 1 <= len(forms) <= 2
    for form in forms:
        assert not form.endswith(".")
        assert form[0] == "%" or form[0].islower()
    assert len({frozenset(NAMES.findall(form)) - {"count"} for form in forms}) == 1


@pytest.mark.parametrize("code", [code for code, forms in SENTENCES.items() if len(forms) == 2])
def test_one_is_told_as_one(code: str) -> None:
    """Of one the first form is said, of none and of several the second."""
    values = dict.fromkeys(NAMES.findall(SENTENCES[code][1]), "x")
    one, many = (Message(code, values | {"count": count}).text for count in (1, 3))
    assert one == SENTENCES[code][0] % (values | {"count": 1})
    assert many == SENTENCES[code][1] % (values | {"count": 3})
    assert one != many


def test_what_an_earlier_version_kept_is_read_as_it_was_written() -> None:
    """A message that was kept as code, sentence and count says that sentence, whatever the code says today."""
    old = Message.of_json(["cut_off", "it breaks off, somehow", 4])
    assert (old.code, old.text, old.count) == ("cut_off", "it breaks off, somehow", 4)
    assert Message.of_json(old.as_json()) == old


def test_a_message_is_kept_and_read_back() -> None:
    """What is kept of a message is read back as the same message."""
    one = Message("gaps", {"count": 2, "limit": 10, "longest": "40 min"})
    assert Message.of_json(one.as_json()) == one
    assert one.text == "2 gaps of more than 10 s, the longest of 40 min; nothing is made up there"
