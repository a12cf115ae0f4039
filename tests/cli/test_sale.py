"""`upsides sale`, as a person would use it: a list brought in, brought in again, corrected, refused."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import fresh
from sale_lists import ONE, SHAPE, THREE, TWO, written
from upsides.results.library import Library

COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
Done = subprocess.CompletedProcess[str]


@pytest.fixture
def sale(tmp_path: Path) -> Iterator[Callable[..., Done]]:
    """Return a function that runs `upsides sale` on books of its own."""
    folder = tmp_path / "yard"
    Library.create(folder)
    with fresh.fresh(folder, ready=True) as env:

        def run(*arguments: object) -> Done:
            command = [*COMMAND, "sale", *map(str, arguments), "--library", str(folder)]
            return subprocess.run(command, env=env, capture_output=True, text=True, check=False)

        yield run


def answered(done: Done) -> Any:
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_list_comes_in_and_is_listed(sale: Callable[..., Done], tmp_path: Path) -> None:
    """What is new, unchanged, changed and gone is told, in numbers and in words, and the list of sales agrees."""
    file, shape = written(tmp_path, ONE + TWO)
    first = answered(sale("add", file, "--shape", shape, "--json"))
    counts = {name: first["sales"][0][name] for name in ("name", "year", "day", "lots", "new", "changed", "removed")}
    assert counts == {
        "name": "Moor End", "year": 2025, "day": "2025-10-07", "lots": 2, "new": 2, "changed": 0, "removed": 0,
    }  # fmt: skip
    assert (first["lots"], first["refused_rows"], first["refused"], first["unused_columns"]) == (2, 0, [], {})
    again = sale("add", file, "--shape", shape)
    assert "The books held all of it already." in again.stdout
    written(tmp_path, ONE.replace("12000", "13000") + THREE + "Moor End\n")
    corrected = sale("add", file, "--shape", shape)
    assert "Moor End 2025: 2 lots; 1 new, 1 changed, 1 not in the list but kept" in corrected.stdout
    assert "1 row left out:" in corrected.stdout
    assert "list.csv line 4" in corrected.stdout
    written(tmp_path, ONE + THREE)
    assert "1 changed, 1 no longer in the list." in sale("add", file, "--shape", shape).stdout
    listed = answered(sale("list", "--json"))["sales"][0]
    assert (listed["name"], listed["lots"], listed["removed"], listed["shortlisted"]) == ("Moor End", 2, 1, 0)
    assert answered(sale("list", "--as-of", "2000-01-01", "--json")) == {"sales": []}
    assert "2025  Moor End: 2 lots, 0 on the shortlist" in sale("list").stdout


def test_a_list_without_a_name_asks_for_it(sale: Callable[..., Done], tmp_path: Path) -> None:
    """A list that does not say which sale it is of is taken under the name that is given, and refused without one."""
    file, shape = written(tmp_path, ONE)
    shape.write_text(SHAPE.replace('sale = "Sale"\n', ""), encoding="utf-8")
    refused = sale("add", file, "--shape", shape)
    assert (refused.returncode, "--sale" in refused.stderr) == (1, True)
    named = answered(sale("add", file, "--shape", shape, "--sale", "Fell Top", "--json"))
    assert named["sales"][0]["name"] == "Fell Top"


@pytest.mark.parametrize(
    ("content", "kind"),
    [("", "FileUnreadableError"), ("a,b\n1,2\n", "FileUnreadableError"), (None, "FileUnreadableError")],
)
def test_what_is_no_list_is_refused(sale: Callable[..., Done], tmp_path: Path, content: str | None, kind: str) -> None:
    """An empty, foreign or absent file ends in words and in JSON, and no sale is there."""
    file, shape = written(tmp_path, ONE)
    if content is None:
        file.unlink()
    else:
        file.write_text(content, encoding="utf-8")
    done = sale("add", file, "--shape", shape, "--json")
    assert (done.returncode, json.loads(done.stdout)["error"]["kind"]) == (1, kind)
    assert "Traceback" not in done.stderr
    assert answered(sale("list", "--json")) == {"sales": []}
    assert "No sale yet." in sale("list").stdout


def test_a_shape_that_is_none_is_refused(sale: Callable[..., Done], tmp_path: Path) -> None:
    """A shape's name that is not known is answered with those that are."""
    file, _ = written(tmp_path, ONE)
    done = sale("add", file, "--shape", "none")
    assert done.returncode == 1
    assert "name one of" in done.stderr
    assert "lots" in done.stderr
