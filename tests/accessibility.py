"""What the accessibility engine, and a thumb, have against a page in a browser."""

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
_LOADED = "() => 'axe' in window"
_RUN = (
    "options => axe.run(document, options).then(all => all.violations.map(one => [one.id, one.nodes.map(n => n.html)]))"
)


def faults(page: Page, *, contrast: bool = True) -> list[str]:
    """Return what breaks a rule of the engine (WCAG 2.2 A and AA, its best practice); it is loaded once a page."""
    if not page.evaluate(_LOADED):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate(
        _RUN,
        {
            "runOnly": {"type": "tag", "values": list(RULES)},
            "resultTypes": ["violations"],
            "rules": {"color-contrast": {"enabled": contrast}},
        },
    )
    return [f"{rule}: {html}" for rule, nodes in found for html in nodes]


def too_wide(page: Page) -> int:
    """Return by how many pixels a page scrolls sideways."""
    return max(0, page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))
