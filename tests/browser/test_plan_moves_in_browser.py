"""A day of a plan moved in a browser: drawn by a mouse or a finger, by its list from the keyboard or without script."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from fingers import draw_by_finger

pytestmark = pytest.mark.browser


def _rows(page: Page, place: int) -> tuple[Locator, Locator]:
    """Open the plan of a horse and return two of its days that have other orders."""
    page.goto("/plan/")
    link = page.locator(".week tbody th a, .folded p a").nth(place)
    page.goto(str(link.get_attribute("href")))
    rows = page.locator(".moving [data-day]")
    orders = [rows.nth(n).locator("td").first.inner_text() for n in range(rows.count())]
    other = next(n for n, order in enumerate(orders) if order != orders[0])
    return rows.nth(0), rows.nth(other)


def _day(row: Locator) -> str:
    return str(row.get_attribute("data-day"))


def test_a_day_is_drawn_to_another(open_as: Callable[..., Page]) -> None:
    """Drawn to another day the order is moved, which is said, and that day says where it came from."""
    page = open_as("trainer", "desktop")
    one, other = _rows(page, 0)
    to = _day(other)
    one.locator("td").first.drag_to(other.locator("td").first)
    expect(page.get_by_text("The string's work is being planned round it.")).to_be_visible()
    expect(page.locator(f"[data-day='{to}'] .since")).to_contain_text("moved here by hand from")


def test_a_finger_draws_a_day_by_its_grip(open_as: Callable[..., Page]) -> None:
    """On a touch screen the grip of a day draws it to another."""
    page = open_as("trainer", "tablet", has_touch=True)
    one, other = _rows(page, 1)
    to, grip = _day(other), one.locator(".grip")
    expect(grip).to_be_visible()
    draw_by_finger(page, grip, other.locator("td").first)
    expect(page.locator(f"[data-day='{to}'] .since")).to_contain_text("moved here by hand from")


def test_the_list_does_the_same_without_a_script_and_takes_back(open_as: Callable[..., Page]) -> None:
    """Without a script a day is moved by its list on a phone, and taken back by a press."""
    page = open_as("trainer", "phone", java_script_enabled=False)
    one, other = _rows(page, 2)
    to = _day(other)
    one.locator("summary").click()
    one.locator("select").select_option(to)
    one.get_by_role("button", name="Move", exact=True).click()
    expect(page.locator(f"[data-day='{to}'] .since")).to_contain_text("moved here by hand from")
    page.locator(f"[data-day='{to}']").get_by_role("button", name="Take back").click()
    expect(page.get_by_text("is being planned as it was before")).to_be_visible()
    expect(page.locator(f"[data-day='{to}'] .since")).to_have_count(0)


def test_the_list_does_the_same_from_the_keyboard(open_as: Callable[..., Page]) -> None:
    """The list of a day opens, is chosen from and sent with the keyboard alone."""
    page = open_as("trainer", "desktop")
    one, other = _rows(page, 3)
    to = _day(other)
    one.locator("summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(one.locator("select")).to_be_focused()
    while one.locator("select").input_value() != to:
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(f"[data-day='{to}'] .since")).to_contain_text("moved here by hand from")
