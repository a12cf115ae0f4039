import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from upsides.charts.theme import DARK, LIGHT

pytestmark = pytest.mark.browser


def go(page: Page, address: str, name: str) -> None:
    """Walk to a page as a person would: from the string to a horse, from a horse to its last race."""
    page.goto(address)
    if name in {"horse", "race"}:
        page.locator(".string h2 a").first.click()
    if name == "unraced":
        page.locator(".string h2 a").last.click()
    if name == "race":
        page.locator(".runs .when a").first.click()
    page.wait_for_load_state()


def rgb(colour: str) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


def style(page: Page, selector: str, name: str) -> str:
    script = "([s, n]) => getComputedStyle(document.querySelector(s)).getPropertyValue(n)"
    return str(page.evaluate(script, [selector, name]))


EVERY_PAGE = pytest.mark.parametrize("name", ["string", "horse", "unraced", "race"])


@EVERY_PAGE
def test_pages_are_accessible(open_page: Page, address: str, name: str) -> None:
    """The accessibility engine finds nothing against WCAG A and AA on any page, width or scheme."""
    go(open_page, address, name)
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(open_page, options={"runOnly": {"type": "tag", "values": rules}})
    assert [(fault["id"], fault["nodes"][0]["html"]) for fault in found.response["violations"]] == []


@EVERY_PAGE
def test_pages_fit_and_stay_quiet(page: Page, address: str, name: str) -> None:
    """No page scrolls sideways, and none makes the browser complain, its strict policy in force."""
    go(page, address, name)
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    assert page.locator("h1").count() == 1


def test_colours_follow_the_scheme(page: Page, address: str, scheme: str) -> None:
    """Paper, text and the picture take the light or dark tokens, and print takes the light."""
    go(page, address, "horse")
    tokens = DARK if scheme == "dark" else LIGHT
    assert style(page, "html", "background-color") == rgb(tokens.paper)
    assert style(page, "body", "color") == rgb(tokens.ink)
    assert style(page, f'.picture [fill="var(--gorse, {LIGHT.gorse})"]', "fill") == rgb(tokens.gorse)
    page.emulate_media(media="print")
    assert style(page, "html", "background-color") == rgb(LIGHT.paper)
    assert style(page, "body", "color") == rgb(LIGHT.ink)


@pytest.mark.parametrize("scheme", ["light"])
def test_one_picture_shows_at_each_width(page: Page, address: str, size: str) -> None:
    """The picture drawn for the width at hand shows, and its smallest letters stay at 12 px or more."""
    go(page, address, "horse")
    shown = page.locator(".picture:visible")
    assert shown.count() == 1
    drawn = shown.evaluate("e => e.getBoundingClientRect().width / e.viewBox.baseVal.width")
    assert drawn * 14 >= 12


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light")])
def test_a_finger_can_hit_every_link(page: Page, address: str) -> None:
    """Links in the list and the head are at least 24 px either way (WCAG 2.2, 2.5.8)."""
    page.goto(address)
    boxes = page.locator(".top a").evaluate_all("all => all.map(e => e.getBoundingClientRect().toJSON())")
    rows = page.locator(".string li").evaluate_all("all => all.map(e => e.getBoundingClientRect().toJSON())")
    for box in (*boxes, *rows):
        assert min(box["width"], box["height"]) >= 24


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light")])
def test_the_whole_row_leads_to_the_horse(page: Page, address: str) -> None:
    """Touching a horse's curve or level opens its page, not only its name."""
    page.goto(address)
    name = page.locator(".string h2").first.inner_text()
    page.locator(".string .level").first.click(force=True)
    page.wait_for_url("**/horse/**")
    assert page.locator("h1").inner_text() == name


@pytest.mark.parametrize(("size", "scheme"), [("desktop", "light")])
def test_the_keyboard_reaches_the_content_first(page: Page, address: str) -> None:
    """The first stop of the tab key is a visible link past the head."""
    page.goto(address)
    page.keyboard.press("Tab")
    focused = page.locator(":focus")
    assert focused.inner_text() == "Skip to the content"
    assert focused.bounding_box()["x"] >= 0
    page.keyboard.press("Enter")
    assert page.url.endswith("#content")


@pytest.mark.parametrize(("size", "scheme"), [("desktop", "light")])
def test_a_run_says_its_words_on_pointing(page: Page, address: str) -> None:
    """Each run in the picture carries its date, course and figure as a title."""
    go(page, address, "horse")
    rows = page.locator(".runs tbody tr").count()
    titles = page.locator(".picture:visible path title").all_text_contents()
    assert len(titles) == rows
    assert all(" lb" in title and " m, " in title for title in titles)
