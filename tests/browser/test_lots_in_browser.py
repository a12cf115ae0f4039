"""The board of lots in a browser: a horse drawn to another lot, and the same by its lists from the keyboard."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from fingers import draw_by_finger

pytestmark = pytest.mark.browser
DAY = "2026-06-20"
"""The invented yard's day, of which every horse has an order."""


def test_a_horse_is_drawn_to_another_lot(open_as: Callable[..., Page]) -> None:
    """Drawn to another lot a horse stands there, its list says so, and what that costs or breaks is told at once."""
    page = open_as("trainer", "tablet")
    page.goto(f"/lots/board/?day={DAY}")
    card = page.locator("section[data-lot='1'] li").first
    number, before = card.get_attribute("data-horse"), page.locator("#verdict").inner_text()
    card.locator("p").first.drag_to(page.locator("section[data-lot='2'] h2"))
    expect(page.locator(f"section[data-lot='2'] [data-horse='{number}']")).to_be_visible()
    expect(page.locator(f"[name=lot-{number}]")).to_have_value("2")
    expect(page.locator("#verdict")).not_to_have_text(before)
    expect(page.locator("#verdict .answer")).to_contain_text("It breaks")


def test_a_finger_draws_a_pair(open_as: Callable[..., Page]) -> None:
    """On a touch screen a finger on the grip draws a horse to another lot, and those that it works with come along."""
    page = open_as("trainer", "tablet", has_touch=True)
    page.goto(f"/lots/board/?day={DAY}")
    cards = page.locator("section[data-lot='1'] li")
    one, other = (str(cards.nth(place).get_attribute("data-horse")) for place in (0, 1))
    for number, beside in ((one, other), (other, one)):
        page.locator(f"[data-horse='{number}']").evaluate("(card, beside) => { card.dataset.with = beside; }", beside)
    grip = page.locator(f"[data-horse='{one}'] .grip")
    expect(grip).to_be_visible()
    draw_by_finger(page, grip, page.locator("section[data-lot='2'] h2"))
    for number in (one, other):
        expect(page.locator(f"[name=lot-{number}]")).to_have_value("2")
        expect(page.locator(f"section[data-lot='2'] [data-horse='{number}']")).to_be_visible()
    expect(page.locator("#verdict .answer")).to_contain_text("It")


def test_the_lists_do_the_same_from_the_keyboard(open_as: Callable[..., Page]) -> None:
    """A lot chosen in a horse's list with the keyboard moves it there, and the list keeps the focus."""
    page = open_as("trainer", "desktop")
    page.goto(f"/lots/board/?day={DAY}")
    number = page.locator("section[data-lot='1'] li").first.get_attribute("data-horse")
    chosen = page.locator(f"[name=lot-{number}]")
    chosen.focus()
    page.keyboard.press("ArrowDown")
    expect(chosen).to_have_value("2")
    expect(page.locator(f"section[data-lot='2'] [data-horse='{number}']")).to_be_visible()
    expect(chosen).to_be_focused()
    expect(page.locator("#verdict .answer")).to_contain_text("It breaks")


def test_a_list_takes_the_pair_along(open_as: Callable[..., Page]) -> None:
    """A lot chosen in a horse's list moves those that it works with too, and the list keeps the focus."""
    page = open_as("trainer", "phone")
    page.goto(f"/lots/board/?day={DAY}")
    cards = page.locator("section[data-lot='1'] li")
    one, other = (str(cards.nth(place).get_attribute("data-horse")) for place in (0, 1))
    page.locator(f"[data-horse='{one}']").evaluate("(card, beside) => { card.dataset.with = beside; }", other)
    page.locator(f"[name=lot-{one}]").select_option("2")
    for number in (one, other):
        expect(page.locator(f"[name=lot-{number}]")).to_have_value("2")
        expect(page.locator(f"section[data-lot='2'] [data-horse='{number}']")).to_be_visible()
    expect(page.locator("#verdict .answer")).to_contain_text("It breaks")


def test_the_board_works_without_a_script(open_as: Callable[..., Page]) -> None:
    """Without a script a button says what a choice costs and breaks, and the horse stands where it was chosen to."""
    page = open_as("trainer", "phone", java_script_enabled=False)
    page.goto(f"/lots/board/?day={DAY}")
    number = page.locator("section[data-lot='1'] li").first.get_attribute("data-horse")
    page.locator(f"[name=lot-{number}]").select_option("2")
    page.get_by_role("button", name="What does it cost?").click()
    expect(page.locator("#verdict .answer")).to_contain_text("It breaks")
    expect(page.locator(f"section[data-lot='2'] [data-horse='{number}']")).to_be_visible()


def test_one_of_a_pair_is_drawn_alone_and_its_partner_brought(open_as: Callable[..., Page]) -> None:
    """Said to go alone one of a pair moves by itself; what breaks is told at once, and a button brings the other."""
    page = open_as("trainer", "tablet")
    page.goto(f"/lots/board/?day={DAY}")
    card = page.locator("section[data-lot='1'] li:not([data-with=''])").first
    one, other = str(card.get_attribute("data-horse")), str(card.get_attribute("data-with")).split()[0]
    page.get_by_label("Move a horse without those that it works with").check()
    page.locator(f"[name=lot-{one}]").select_option("2")
    expect(page.locator(f"[name=lot-{other}]")).to_have_value("1")
    expect(page.locator("#verdict")).to_contain_text("are to work together, and go in two lots")
    page.locator(f"#verdict [name=bring][value='{other}:2']").click()
    expect(page.locator(f"section[data-lot='2'] [data-horse='{other}']")).to_be_visible()
    expect(page.locator("#verdict")).not_to_contain_text("go in two lots")
    expect(page.locator("#verdict")).to_contain_text("work together: both go in lot 2.")


def test_on_a_tablet_the_menu_is_one_line(open_as: Callable[..., Page]) -> None:
    """In the head of a tablet the pages lie in one line, the last of them leading to all others."""
    page = open_as("trainer", "tablet")
    page.goto("/evening/")
    tops = page.locator(".places a:visible").evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().top)")
    assert len(tops) > 5
    assert len(set(tops)) == 1
    expect(page.locator(".places .more")).to_be_visible()


def test_on_a_phone_the_evening_list_is_short(open_as: Callable[..., Page]) -> None:
    """Barns are folded on a phone, so that the whole list is three screens; one unfolds, and its horse is changed."""
    page = open_as("trainer", "phone")
    page.goto(f"/evening/?day={DAY}")
    assert page.evaluate("document.documentElement.scrollHeight") < 3 * 844
    page.locator("details.of-lot summary").first.click()
    page.locator("table.evening a.change").first.click()
    expect(page.get_by_role("button", name="Order")).to_be_visible()
