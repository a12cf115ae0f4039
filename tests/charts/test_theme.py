import pytest

from upsides.charts.theme import DARK, LIGHT, Tokens, contrast, css, themed


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#ffffff", "#000000", 21.0),
        ("#777777", "#ffffff", 4.48),
        ("#767676", "#ffffff", 4.54),
        ("#123456", "#123456", 1.0),
    ],
)
def test_contrast_is_the_standards(one: str, other: str, ratio: float) -> None:
    """Contrast follows WCAG 2.2: black on white is 21; #767676 passes 4.5 on white, #777777 does not."""
    # WCAG 2.2, definition of contrast ratio; the two greys are the pair used in its technique G18 tools.
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast(other, one) == contrast(one, other)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
def test_text_can_be_read(tokens: Tokens) -> None:
    """Every text colour has at least 4.5 to 1 on both papers (WCAG 2.2, 1.4.3)."""
    for text in (tokens.ink, tokens.soft_ink, tokens.gorse_ink):
        for ground in (tokens.paper, tokens.card):
            assert contrast(text, ground) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
def test_lines_that_mean_something_can_be_seen(tokens: Tokens) -> None:
    """The curve stands out from its ranges, range and field from the page (WCAG 2.2, 1.4.11: 3 to 1)."""
    for ground in (tokens.heather_wide, tokens.heather_inner, tokens.card):
        assert contrast(tokens.ink, ground) >= 3
    assert contrast(tokens.heather, tokens.card) >= 3
    for ground in (tokens.paper, tokens.card):
        assert contrast(tokens.edge, ground) >= 3
    assert contrast(tokens.ink, tokens.gorse) >= 3 or tokens is DARK


def test_style_sheet_declares_every_token_twice() -> None:
    """Light and dark values of every token reach the page."""
    sheet = css()
    for tokens in (LIGHT, DARK):
        for name in Tokens.__dataclass_fields__:
            assert f"--{name.replace('_', '-')}: {getattr(tokens, name)};" in sheet


def test_a_picture_takes_its_colours_from_the_page() -> None:
    """A light colour in a picture becomes its variable and keeps the value as fallback."""
    assert themed(f'<path fill="{LIGHT.ink}"/>') == f'<path fill="var(--ink, {LIGHT.ink})"/>'


def test_light_colours_are_all_different() -> None:
    """No two tokens share a light value, or a picture could not be told apart."""
    values = [getattr(LIGHT, name) for name in Tokens.__dataclass_fields__]
    assert len(set(values)) == len(values)
