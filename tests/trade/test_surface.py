import pytest

from upsides.errors import UnreadableError
from upsides.trade import Surface, parse_surfaces


@pytest.mark.parametrize(
    ("texts", "surface"),
    [
        (["Turf", "TURF", "grass", "gazon", "芝"], Surface.TURF),
        (["Dirt", "dirt", "ダート", "ﾀﾞｰﾄ"], Surface.DIRT),
        (["AW", "All-Weather", "all weather", "polytrack", "synthetic", "PSF"], Surface.SYNTHETIC),
    ],
)
def test_surfaces_are_read_in_every_language(texts: list[str], surface: Surface) -> None:
    """Words for a surface read to the same surface, whatever the language."""
    assert {Surface.parse(text) for text in texts} == {surface}


@pytest.mark.parametrize("text", ["", "0", "1", "sand", "hurdles"])
def test_codes_and_other_words_are_refused(text: str) -> None:
    """A table's own codes are not words of the trade."""
    with pytest.raises(UnreadableError, match="surface"):
        Surface.parse(text)


def test_a_surface_prints_as_it_is_parsed() -> None:
    """The text of each surface reads back to it."""
    assert all(Surface.parse(str(surface)) is surface for surface in Surface)


def test_a_column_of_surfaces() -> None:
    """A column gives the three words, nothing where nothing is written, and a mask of what cannot be read."""
    column = parse_surfaces(["Turf", "芝", None, "hurdles", "AW", "---"])
    assert column.values.tolist() == ["turf", "turf", "", "", "synthetic", ""]
    assert column.unreadable.tolist() == [False, False, False, True, False, False]


def test_an_empty_column_of_surfaces() -> None:
    """No cells in, no cells out."""
    column = parse_surfaces([])
    assert column.values.shape == column.unreadable.shape == (0,)
