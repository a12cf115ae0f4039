import re
from pathlib import Path

import pytest

from upsides.errors import ShapeError
from upsides.results.fields import HORSE_FIELDS, RACE_FIELDS, RUN_FIELDS
from upsides.results.shape import load_shape, read_shape, shipped_shapes, spread

GOOD = """
format = 1
source = "home"
[[table]]
has = ["race"]
[table.race]
race_id = "race"
date = "day"
"""


def test_shipped_shapes_load() -> None:
    """Every shape that comes with the program passes its own checks."""
    assert shipped_shapes() == ["hk1997", "hk2014", "lots", "ukire", "world2019"]
    for name in shipped_shapes():
        assert load_shape(name).source == name


def test_numbered_columns_are_written_out() -> None:
    """A range in a column's name stands for each of its numbers."""
    assert spread("time{2..4}_s") == ["time2_s", "time3_s", "time4_s"]
    assert spread("time") == ["time"]


@pytest.mark.parametrize(
    ("change", "key", "reason"),
    [
        (("format = 1", "format = 2"), "format", "is not known"),
        (('source = "home"', 'source = "My Table"'), "source", "not a plain name"),
        (('source = "home"', "colour = 1"), "colour", "not known"),
        (('date = "day"', ""), "table[0].race", "race_id and date are needed"),
        (('date = "day"', 'date = { form = "day" }'), "table[0].race.date.form", "not known"),
        (('date = "day"', 'date = "day"\nwheight = "w"'), "table[0].race.wheight", "not known"),
        (
            ('date = "day"', 'date = "day"\ndistance_m = { from = "d", unit = "ell" }'),
            "distance_m.unit",
            "'ell'",
        ),
        (
            ('date = "day"', 'date = "day"\ncourse = { from = "c", pattern = "(" }'),
            "course.pattern",
            "regular expression",
        ),
        (
            ('date = "day"', 'date = "day"\ncourse = { from = "c", pattern = "x" }'),
            "course.pattern",
            "exactly one group",
        ),
        (('date = "day"', 'date = "day"\ncourse = { case = "lower" }'), "course", "where the value stands"),
        (('has = ["race"]', ""), "table[0].has", "missing"),
        (('date = "day"', 'date = { from = "day", format = "dd/mm" }'), "date.format", "no format of dates"),
        (
            ('date = "day"', 'date = "day"\noff_at = { from = "at", format = "serial" }'),
            "off_at.format",
            "no format of dates",
        ),
        (
            ('date = "day"', 'date = "day"\nwinning_time_s = { from = "t", format = "mm" }'),
            "format",
            "no style of times",
        ),
        (("[[table]]", 'timezone = "Moon/Base"\n[[table]]'), "timezone", "not known"),
        (("[[table]]", 'birthday = "1 May"\n[[table]]'), "birthday", "not a day of the year"),
        (("[[table]]", 'file.delimiter = "x"\n[[table]]'), "file.delimiter", "not known"),
        (("[[table]]", 'margins.neck = "short"\n[[table]]'), "margins.neck", "not a number"),
    ],
)
def test_faults_name_file_key_reason(change: tuple[str, str], key: str, reason: str) -> None:
    """A fault in a shape is told with the file, the key, the reason and what to write instead."""
    with pytest.raises(ShapeError) as caught:
        read_shape(GOOD.replace(*change), "my.toml")
    assert caught.value.file == "my.toml"
    assert key in caught.value.key
    assert reason in str(caught.value)
    assert caught.value.remedy


def test_absent_shape_lists_the_shipped_ones() -> None:
    """A name that is neither a shipped shape nor a file is answered with the names there are."""
    with pytest.raises(ShapeError, match="hk1997, hk2014, lots, ukire, world2019"):
        load_shape("nowhere")


def test_text_that_is_not_toml(tmp_path: Path) -> None:
    """A file that is not TOML is refused with the parser's own words."""
    path = tmp_path / "bad.toml"
    path.write_text("format = ")
    with pytest.raises(ShapeError, match="not TOML"):
        load_shape(path)


def test_the_documented_shape_is_accepted() -> None:
    """The example in docs/shapes.md passes, and the page names every field a shape can fill."""
    page = (Path(__file__).parents[2] / "docs" / "shapes.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", page, re.DOTALL)
    assert example is not None
    assert read_shape(example[1], "docs/shapes.md").source == "moortop"
    named = set(re.findall(r"`(\w+)`", page.partition("### The fields")[2].partition("What each means")[0]))
    assert named == RACE_FIELDS.keys() | RUN_FIELDS.keys() | HORSE_FIELDS.keys()
