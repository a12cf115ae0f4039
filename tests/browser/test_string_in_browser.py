"""What only a browser can tell of the string: touching, typing."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

OpenAs = Callable[..., Page]


def test_the_whole_card_leads_to_the_horse(open_as: OpenAs) -> None:
    """On a phone touching a horse's level opens its page, not only touching its name."""
    page = open_as("trainer", "phone", has_touch=True)
    page.goto("/string/")
    name = page.locator(".horses tbody th a").first.inner_text()
    page.locator(".horses td.level").first.tap(force=True)
    page.wait_for_url("**/horse/**")
    expect(page.locator("h1")).to_have_text(name)


def test_typing_narrows_the_list_in_place(open_as: OpenAs) -> None:
    """Letters typed leave the horses that have them, without loading the page anew, and the address can be kept."""
    page = open_as("trainer")
    page.goto("/string/")
    name = page.locator(".horses tbody th a").nth(3).inner_text()
    page.evaluate("window.same = true")
    page.get_by_label("Find by name, sire or dam").press_sequentially(name)
    expect(page.locator(".horses tbody th a")).to_have_text([name])
    assert page.evaluate("window.same")
    page.wait_for_url(re.compile(r"[?&]q="))
    page.reload()
    expect(page.locator(".horses tbody th a")).to_have_text([name])


def test_the_order_changes_in_place(open_as: OpenAs) -> None:
    """A column's heading puts the list in its order, and says so to who cannot see it."""
    page = open_as("trainer")
    page.goto("/string/")
    page.get_by_role("columnheader", name="Horse").get_by_role("button").click()
    expect(page.locator("th[aria-sort]")).to_have_text(re.compile("Horse"))
    names = page.locator(".horses tbody th a").all_inner_texts()
    assert names == sorted(names)
