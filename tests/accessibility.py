"""What the accessibility engine, and a thumb, have against a page in a browser."""

from typing import Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
CONTRAST = "color-contrast"
_LOADED = "() => 'axe' in window"
_RUN = (
    "options => axe.run(document, options).then(all => all.violations.map(one => [one.id, one.nodes.map(n => n.html)]))"
)


_TOO_WIDE = """() => {
  const root = document.documentElement;
  const by = () => Math.max(0, root.scrollWidth - root.clientWidth);
  const folded = [...document.querySelectorAll("main details:not([open])")];
  const closed = by();
  folded.forEach((one) => { one.open = true; });
  const open = by();
  folded.forEach((one) => { one.open = false; });
  return Math.max(closed, open);
}"""

Asked = Literal["everything", "contrast", "all but contrast"]


def faults(page: Page, asked: Asked = "everything") -> list[str]:
    """Return what breaks a rule of the engine (WCAG 2.2 A and AA, its best practice); it is loaded once a page."""
    if not page.evaluate(_LOADED):
        page.evaluate(AXE_SCRIPT)
    only = {"type": "rule", "values": [CONTRAST]} if asked == "contrast" else {"type": "tag", "values": list(RULES)}
    rules = {CONTRAST: {"enabled": asked != "all but contrast"}}
    found = page.evaluate(_RUN, {"runOnly": only, "resultTypes": ["violations"], "rules": rules})
    return [f"{rule}: {html}" for rule, nodes in found for html in nodes]


def too_wide(page: Page) -> int:
    """Return by how many pixels a page scrolls sideways, as it stands or with its folded parts open."""
    by: int = page.evaluate(_TOO_WIDE)
    return by
