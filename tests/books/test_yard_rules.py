"""The yard's own rules: read once, read anew when the file changes, said when it cannot be used."""

import os
from pathlib import Path

import pytest

from upsides.books.models import Yard
from upsides.books.queries import moments
from upsides.books.queries.yard_rules import YardRules, own_place, yard_rules

RULE = """topic = "stand-down"
[[rule]]
name = "{name}"
jurisdiction = "XU"
source = "the trainer, 2030"
confidence = "high"
treatment = "flunixin"
applies_to = ["race"]
count = 7
unit = "days"
counting = "free"
says = "seven days free"
"""


def names(folder: Path) -> list[str]:
    return [entry.rule.name for entry in yard_rules(folder).overrides.entries]


def test_a_folder_without_rules_has_none(tmp_path: Path) -> None:
    """No file is no rule of the yard's own, and nothing wrong."""
    assert yard_rules(tmp_path) == YardRules()


def test_a_changed_file_is_read_anew_and_an_unchanged_one_is_not(tmp_path: Path) -> None:
    """The file is read when it is new or was changed, and kept as it was read otherwise."""
    file = tmp_path / "rules.toml"
    file.write_text(RULE.format(name="first"))
    assert names(tmp_path) == ["first"]
    assert yard_rules(tmp_path) is yard_rules(tmp_path)
    file.write_text(RULE.format(name="second, longer"))
    os.utime(file, ns=(1, 1))
    assert names(tmp_path) == ["second, longer"]


def test_a_broken_file_is_said_and_the_shipped_rules_stay(tmp_path: Path) -> None:
    """A file that cannot be used gives no rule, and the reason in words that name it."""
    (tmp_path / "rules.toml").write_text("topic = stand-down")
    found = yard_rules(tmp_path)
    assert found.overrides.entries == ()
    assert str(tmp_path / "rules.toml") in found.fault


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("kept", "place"), [("GB", "Britain"), ("XU", "XU"), ("", "anywhere"), ("Nowhere", "anywhere")]
)
def test_the_yards_place_is_named_as_rules_name_it(kept: str, place: str) -> None:
    """A country code is the place that rules name by it; what they cannot name falls under rules that hold anywhere."""
    Yard.objects.update(jurisdiction=kept)
    assert own_place(moments.now()) == place
