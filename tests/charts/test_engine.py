import re
from importlib.metadata import version

import pytest
import vl_convert

from upsides.charts.engine import script, stamp


@pytest.fixture(scope="module")
def made() -> str:
    return script()


def test_the_script_says_what_it_was_made_from(made: str) -> None:
    """Its first line names the library that draws the pictures here, and that one's version."""
    first = made.splitlines()[0]
    assert first == stamp()
    assert version("vl-convert-python") in first


def test_the_script_is_whole(made: str) -> None:
    """It asks for no other script, holds the engine's own version, and leaves the door that pages use."""
    assert not re.search(r"""\bimport\s*[\w{*]?[^;]{0,80}\bfrom\s*["']|^\s*import\s*["']""", made, re.M)
    assert f'"{vl_convert.get_vega_version()}"' in made
    assert "window.vegaEmbed=" in made


def test_the_script_is_the_same_each_time(made: str) -> None:
    """Made again it is the same, so that browsers may keep it."""
    assert script() == made
