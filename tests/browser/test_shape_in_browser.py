"""What only a browser can tell of scoring a horse's shape: touching, scrolling, keys, what outlasts a lost page."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from accessibility import faults

pytestmark = pytest.mark.browser

OpenAs = Callable[..., Page]


def trait(page: Page, name: str) -> Locator:
    return page.locator(f".trait:has(#shape-{name})")


def at(rail: Locator, score: int) -> dict[str, float]:
    """Where a score is on a rail, CSS px from its corner."""
    box = rail.bounding_box()
    thumb = 0.69 * box["height"]
    return {"x": thumb / 2 + (box["width"] - thumb) * (score - 1) / 8, "y": box["height"] / 2}


def scored(page: Page) -> dict[str, str]:
    """What would be sent, what was not scored left out."""
    found = page.locator("#score select").evaluate_all("all => all.map(one => [one.name.slice(6), one.value])")
    return {name: value for name, value in found if value}


def test_a_line_is_unset_until_it_is_touched(open_as: OpenAs) -> None:
    """Touching a line scores where it was touched, the middle too; cleared it is as if it had never been touched."""
    page = open_as("carer", "phone", has_touch=True)
    page.goto("/horse/1/shape/")
    expect(page.locator(".count")).to_have_text("0 of 19 traits scored")
    assert scored(page) == {}
    neck, rail = trait(page, "neck_length"), page.locator("#shape-neck_length-slider")
    expect(neck.locator("output")).to_have_text("not scored")
    for score in (5, 1, 9, 7):
        rail.tap(position=at(rail, score))
        expect(neck.locator("output")).to_have_text(str(score))
        assert scored(page) == {"neck_length": str(score)}
    expect(page.locator(".count")).to_have_text("1 of 19 traits scored")
    neck.get_by_role("button", name="Clear Neck").tap()
    expect(neck.locator("output")).to_have_text("not scored")
    assert scored(page) == {}


def test_scrolling_over_a_line_scores_nothing(open_as: OpenAs) -> None:
    """A finger that comes down on a line and moves the page leaves the line as it was."""
    page = open_as("carer", "phone", has_touch=True)
    page.goto("/horse/1/shape/")
    rail = page.locator("#shape-frame-slider")
    rail.scroll_into_view_if_needed()
    box, tools = rail.bounding_box(), page.context.new_cdp_session(page)
    x, y = box["x"] + 0.8 * box["width"], box["y"] + box["height"] / 2

    def touch(kind: str, *points: tuple[float, float]) -> None:
        tools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": a, "y": b} for a, b in points]})

    before = page.evaluate("scrollY")
    touch("touchStart", (x, y))
    for step in range(1, 16):
        touch("touchMove", (x + step % 2, y - 12 * step))
    touch("touchEnd")
    page.wait_for_function(f"scrollY > {before + 60}")
    assert scored(page) == {}
    expect(trait(page, "frame").locator("output")).to_have_text("not scored")


def test_a_line_is_moved_by_keys(open_as: OpenAs) -> None:
    """From the keyboard Enter scores the middle, arrows move, Delete clears, and what it says is read out."""
    page = open_as("carer")
    page.goto("/horse/1/shape/")
    line = page.get_by_role("slider", name="Frame")
    line.focus()
    assert line.get_attribute("aria-valuetext") == "not scored"
    page.keyboard.press("Enter")
    assert scored(page) == {"frame": "5"}
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert scored(page) == {"frame": "7"}
    assert line.get_attribute("aria-valuetext") == "7 of 9"
    page.keyboard.press("Delete")
    assert scored(page) == {}
    assert page.url.endswith("/shape/")


def test_what_was_scored_is_not_lost_with_the_page(open_as: OpenAs) -> None:
    """Loaded anew the page holds what was scored and not entered, until it is thrown away or in the books."""
    page = open_as("carer")
    page.goto("/horse/2/shape/")
    page.get_by_role("slider", name="Frame").press("End")
    page.get_by_role("slider", name="Bone").press("Home")
    page.reload()
    expect(page.locator("#kept")).to_be_visible()
    assert scored(page) == {"frame": "9", "bone": "1"}
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#kept")).to_be_hidden()
    assert scored(page) == {}
    page.get_by_role("slider", name="Walk").press("End")
    page.get_by_role("button", name="Enter").click()
    page.wait_for_url("**/horse/2/shape/")
    expect(page.locator(".seen")).to_have_count(1)
    assert page.evaluate("localStorage.length") == 0
    page.goto("/horse/2/shape/score/")
    expect(page.locator("#kept")).to_be_hidden()
    assert scored(page) == {"walk": "9"}


def test_sent_without_signal_it_is_still_there(open_as: OpenAs) -> None:
    """Where sending fails for want of signal, what was scored stands in the form again when the page is back."""
    page = open_as("rider", expected="ERR_INTERNET_DISCONNECTED|/shape/score/")
    page.goto("/horse/3/shape/")
    page.get_by_role("slider", name="Toes").press("Home")
    page.context.set_offline(True)
    page.get_by_role("button", name="Enter").click()
    page.wait_for_timeout(500)
    page.context.set_offline(False)
    page.goto("/horse/3/shape/")
    expect(page.locator("#kept")).to_be_visible()
    assert scored(page) == {"toes": "1"}
    page.get_by_role("button", name="Enter").click()
    expect(page.locator(".seen h3")).to_have_text("Toes")


def test_without_a_script_it_is_a_form(open_as: OpenAs) -> None:
    """Without scripts each trait is a list, and what is chosen is entered."""
    page = open_as("rider", "phone", java_script_enabled=False)
    page.goto("/horse/4/shape/")
    expect(page.locator("[type=range]:visible")).to_have_count(0)
    page.get_by_label("Quarters").select_option("9, strong")
    page.get_by_role("button", name="Enter").click()
    expect(page.locator(".answer")).to_contain_text("strong quarters")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_how_people_see_it_is_fit_to_be_read(open_as: OpenAs, size: str) -> None:
    """The page of two people's dots keeps the rules of the accessibility engine and scrolls in one direction only."""
    for role in ("carer", "rider"):
        page = open_as(role, size, "dark")
        page.goto("/horse/5/shape/score/")
        page.get_by_role("slider", name="Frame").press("Home" if role == "carer" else "End")
        page.get_by_role("slider", name="Bone").press("Home")
        page.locator("#score .main").click()
        page.wait_for_url("**/horse/5/shape/")
    page.reload()  # without the word that it was entered
    expect(page.locator("h2")).to_have_text(["Seen differently", "Seen alike"])
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
