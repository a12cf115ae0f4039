"""One theme for pages, charts and paper: chalk paper, ink text, gorse for the present, heather for doubt.

Every colour has a name by what it is for; a light and a dark value stand side by side. Text pairs keep a
contrast of at least 4.5 to 1 and meaningful lines 3 to 1 (WCAG 2.2, success criteria 1.4.3 and 1.4.11); a
test measures them.
"""

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class Tokens:
    """Colours as #rrggbb.

    Args:
        paper: the page.
        card: a raised part of the page.
        ink: text and the curve.
        soft_ink: lesser text.
        rule: hairlines.
        edge: the border of what can be filled in or pressed.
        gorse: the accent: where we are now.
        gorse_ink: links, and the accent where it must be read.
        heather: edge of a range.
        heather_wide: fill of the range that holds four times in five.
        heather_inner: fill of the range that holds one time in two.
    """

    paper: str
    card: str
    ink: str
    soft_ink: str
    rule: str
    edge: str
    gorse: str
    gorse_ink: str
    heather: str
    heather_wide: str
    heather_inner: str


LIGHT = Tokens(
    paper="#f7f4ea",
    card="#fffdf6",
    ink="#23281f",
    soft_ink="#575c4e",
    rule="#d9d3c1",
    edge="#847e6b",
    gorse="#e8b90c",
    gorse_ink="#6d5300",
    heather="#8a66a0",
    heather_wide="#e7dced",
    heather_inner="#d0bbdc",
)
DARK = Tokens(
    paper="#171a15",
    card="#20241d",
    ink="#ece8da",
    soft_ink="#b4b2a2",
    rule="#3d4237",
    edge="#7f8574",
    gorse="#f2c431",
    gorse_ink="#f2c431",
    heather="#a884bf",
    heather_wide="#37303f",
    heather_inner="#54445f",
)
FONT = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'DejaVu Sans', sans-serif"
SERIF = "'Iowan Old Style', 'Palatino Linotype', Palatino, Georgia, 'DejaVu Serif', serif"


def variable(token: str) -> str:
    """Return the CSS custom property that carries a token, e.g. --soft-ink."""
    return f"--{token.replace('_', '-')}"


def css() -> str:
    """Return the style sheet that declares every token: light, dark by preference, always light on paper."""
    light, dark = _declarations(LIGHT), _declarations(DARK)
    return (
        f":root {{\n  color-scheme: light dark;\n  --font: {FONT};\n  --serif: {SERIF};\n{light}}}\n"
        f"@media screen and (prefers-color-scheme: dark) {{\n:root {{\n{dark}}}\n}}\n"
    )


def _declarations(tokens: Tokens) -> str:
    return "".join(f"  {variable(f.name)}: {getattr(tokens, f.name)};\n" for f in fields(tokens))


def variables() -> dict[str, str]:
    """Return the custom property of every light colour, so that a page can put one in the other's place."""
    return {getattr(LIGHT, field.name): variable(field.name) for field in fields(LIGHT)}


def themed(svg: str) -> str:
    """Return an SVG drawn in light colours with each replaced by its token, the value kept as fallback.

    Args:
        svg: drawn with values of `LIGHT` only.

    Returns:
        The same picture, following light, dark and print when it stands inside a page.
    """
    for value, name in variables().items():
        svg = svg.replace(f'"{value}"', f'"var({name}, {value})"')
    return svg


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb as WCAG 2.2 defines it, 0 to 1."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours as WCAG 2.2 defines it, 1 to 21."""
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)
