"""The stopwatch on a phone: two horses clocked without signal, a page lost in the middle, and what the books then hold.

The steps build on one another as a morning does, so each test leaves the phone as the next finds it.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

import fresh
import phones
from accessibility import faults, too_wide
from desk import until
from phones import LOSE_AN_ANSWER, PASSWORD, PIN, READY

pytestmark = pytest.mark.browser
WIDTHS = {"narrow": (320, 640), "phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}
OFF_S = 0.060
"""A time may be off by so much, besides what this test itself does not know of when its press arrived."""
SECTION_S = 2.0
MARKS = [30, 60, 90]
"""Marks so near to one another that a section takes two seconds at 15 m/s."""

_ORDER = """__import__("upsides.books.services.lists", fromlist=["order"]).order({horse}, clock.today(),
    {{"exercise": "half_speed", "lot": "1", "gallop": "1", "upsides": "{beside}",
    "rider": str(Person.objects.get(login="rider").pk)}}, Person.objects.get(login="trainer")).pk"""
SETTLE = [
    'add_person("R. Quill", [Role.RIDER], login="rider").pk',
    'Person.objects.filter(login="rider").update(weight_kg=57.5)',
    f'Gallop.objects.create(name="Cowslip Strip", surface="turf", length_m=100, marks={MARKS}).pk',
    _ORDER.format(horse=1, beside=2),
    _ORDER.format(horse=2, beside=1),
]
"""A rider, a gallop, and Burr Moss ordered upsides Curlew Sands."""
CLOCKED = """[[one.horse_id, one.author.login, one.values, one.happened_at, one.made_at]
    for one in Entry.objects.filter(kind="clocked").order_by("pk")]"""


@dataclass(frozen=True)
class World:
    """The yard, its books and the trainer's phone."""

    at: str
    books: phones.Books
    phone: Page


@dataclass(frozen=True)
class Press:
    """When something was pressed: between two readings of this test's own steady clock, s."""

    before: float
    after: float


@pytest.fixture(scope="module")
def world(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """A yard with two horses ordered upsides, and the trainer signed in on a phone."""
    yard = phones.library(tmp_path_factory.mktemp("clock") / "yard")
    with fresh.fresh(yard, ready=True) as env:
        books = phones.Books(yard, env)
        books.ask(f"settle({PASSWORD!r}, {PIN!r})")
        for told in SETTLE:
            books.ask(told.replace("\n", " "))
        with phones.serving(yard, env) as server:
            context = browser.new_context(
                base_url=server.address, viewport={"width": 390, "height": 844}, has_touch=True
            )
            page = context.new_page()
            sign_in(page, "trainer")
            yield World(server.address, books, page)
            context.close()
        books.close()


def sign_in(page: Page, login: str) -> None:
    page.goto("/account/login/")
    page.locator("[name=login]").fill(login)
    page.locator("[name=password]").fill(PASSWORD)
    page.locator("form:has([name=password]) button").first.click()
    page.wait_for_url(lambda address: "login" not in address)


def opened(page: Page) -> None:
    """Open the stopwatch, and wait until it is the script's."""
    page.goto("/clock/")
    expect(page.locator("#clock[data-ready]")).to_be_attached()


def lane(page: Page, horse: str) -> Locator:
    return page.locator("#running .lane", has_text=horse)


def press(page: Page, button: Locator) -> Press:
    """Press a button with a real pointer, and say when."""
    place = button.bounding_box()
    page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    before = time.monotonic()
    page.mouse.down()
    after = time.monotonic()
    page.mouse.up()
    return Press(before, after)


def fits(splits: list[list[float]], start: Press, presses: list[Press]) -> None:
    """Hold clocked times to those of this test's own clock."""
    print()
    for (metres, seconds), one in zip(splits, presses, strict=True):
        low, high = one.before - start.after, one.after - start.before
        print(f"{metres} m: {seconds} s clocked, pressed between {low:.3f} and {high:.3f} s")
        assert low - OFF_S <= seconds <= high + OFF_S


def scrolls(page: Page) -> list[int]:
    """Return by how much the running clock is larger than the screen, across and down."""
    script = "e => [e.scrollWidth - innerWidth, e.scrollHeight - innerHeight]"
    return [max(by, 0) for by in page.locator("#running").evaluate(script)]


def clocked(books: phones.Books) -> list[Any]:
    return list(books.ask(CLOCKED.replace("\n", " ")))


def test_two_horses_are_clocked_without_signal_and_over_a_lost_page(world: World) -> None:
    """Offline, with the page loaded anew in the middle, what was pressed is in the books once and to 60 ms."""
    page = world.phone
    opened(page)
    page.evaluate(READY)
    page.context.set_offline(offline=True)
    page.reload()
    expect(page.locator("#clock[data-ready]")).to_be_attached()
    expect(page.locator("#signal")).to_contain_text("What you enter is kept on this phone")
    expect(page.locator(".answer")).to_have_text("Two horses, three marks: press when each passes.")
    page.get_by_role("button", name="To the clock").click()
    start = press(page, page.get_by_role("button", name="Start"))
    first, second = [], []
    time.sleep(SECTION_S)
    first.append(press(page, lane(page, "Burr Moss").locator(".mark")))
    second.append(press(page, lane(page, "Curlew Sands").locator(".mark")))
    page.reload()
    expect(page.locator("#running .doubt")).to_contain_text("This clocking was interrupted.")
    expect(lane(page, "Burr Moss").locator(".next")).to_have_text("next 60 m")
    for _ in MARKS[1:]:
        time.sleep(SECTION_S)
        first.append(press(page, lane(page, "Burr Moss").locator(".mark")))
        second.append(press(page, lane(page, "Curlew Sands").locator(".mark")))
    saved(page)
    assert clocked(world.books) == []
    page.evaluate(LOSE_AN_ANSWER)
    page.context.set_offline(offline=False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=60_000)
    rows = clocked(world.books)
    assert [(row[0], row[1]) for row in rows] == [(1, "trainer"), (2, "trainer")]
    fits(rows[0][2]["splits"], start, first)
    fits(rows[1][2]["splits"], start, second)
    assert [metres for metres, _ in rows[0][2]["splits"]] == MARKS
    rider = world.books.ask('Person.objects.get(login="rider").pk')
    common = {"gallop": 1, "instruction": "half_speed", "rider": rider, "rider_kg": 57.5, "clock": "thumb"}
    assert rows[0][2].items() >= (common | {"upsides": [2], "left": "plenty"}).items()
    assert rows[1][2].items() >= (common | {"upsides": [1], "text": "The clock was interrupted."}).items()
    began, made = (datetime.fromisoformat(text) for text in rows[0][3:])
    assert SECTION_S * 3 <= (made - began).total_seconds() < 120


def saved(page: Page) -> None:
    """Say how much the first had left, and save; both entries then wait on the phone."""
    expect(page.locator(".answer")).to_have_text("Say how much was left, and save.")
    result = page.locator(".result", has_text="Burr Moss")
    expect(result.locator("[data-field=rider_kg] input")).to_have_value("57.5 kg")
    result.get_by_text("plenty left").click()
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#waiting ol > li")).to_have_count(2)
    expect(page.locator("#waiting ol > li").first).to_contain_text("Burr Moss: 90 m in")


def test_what_was_sent_twice_stands_once_on_the_page(world: World) -> None:
    """The page with signal shows each work once, with who clocked it, and offers what is not clocked yet."""
    page = world.phone
    opened(page)
    expect(page.locator("#today .entry .of")).to_have_text(["Curlew Sands", "Burr Moss"])
    expect(page.locator("#today .entry").last).to_contain_text("upsides Curlew Sands")
    expect(page.locator("#today .entry").last).to_contain_text("trainer one")
    expect(page.locator(".works label").first).to_contain_text("clocked")
    expect(page.locator(".works input").last).to_be_checked()
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('upsides-clock'))") == []


def test_it_works_by_keyboard(world: World) -> None:
    """Space starts, A and L pass the marks, a mark can be missed and a press taken back; holding a key presses once."""
    page = world.phone
    opened(page)
    page.locator(".works input").first.check()
    page.get_by_role("button", name="To the clock").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Start")).to_be_focused()
    page.keyboard.press("Space")
    expect(lane(page, "Burr Moss").locator(".mark")).to_be_focused()
    page.wait_for_timeout(1600)
    page.keyboard.down("l")
    page.keyboard.down("l")  # the key is held
    page.keyboard.up("l")
    expect(lane(page, "Curlew Sands").locator(".next")).to_have_text("next 60 m")
    expect(page.locator("#running .heard")).to_contain_text("Curlew Sands 30 m")
    page.keyboard.press("a")
    page.keyboard.press("a")  # a bounce
    expect(lane(page, "Burr Moss").locator(".next")).to_have_text("next 60 m")
    page.get_by_role("button", name="Undo last press").focus()
    page.keyboard.press("Enter")
    expect(lane(page, "Burr Moss").locator(".next")).to_have_text("next 30 m")
    lane(page, "Burr Moss").get_by_role("button", name="Missed it").focus()
    page.keyboard.press("Space")
    expect(lane(page, "Burr Moss").locator(".next")).to_have_text("next 60 m")
    page.keyboard.press("Escape")
    expect(page.locator("#running")).to_be_visible()
    page.wait_for_timeout(1600)
    page.keyboard.press("a")
    page.get_by_role("button", name="Finish").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".result", has_text="Burr Moss").locator(".whole")).to_contain_text("60 m in")
    expect(page.locator("#after h2")).to_be_focused()


def test_a_press_that_slipped_is_left_out(world: World) -> None:
    """A finished clocking is there again after a new load; what no horse can do is said, and is not saved."""
    page, before = world.phone, len(clocked(world.books))
    page.reload()
    expect(page.locator("#clock[data-ready]")).to_be_attached()
    page.get_by_role("button", name="Undo last press").click()
    page.wait_for_timeout(500)
    lane(page, "Curlew Sands").locator(".mark").tap()
    lane(page, "Burr Moss").locator(".mark").tap()
    page.wait_for_timeout(500)
    lane(page, "Curlew Sands").locator(".mark").tap()
    lane(page, "Burr Moss").locator(".mark").tap()
    result = page.locator(".result", has_text="Curlew Sands")
    expect(result.locator(".odd")).to_contain_text("would be")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#after")).to_be_visible()
    for one in page.locator(".result").all():
        while one.locator(".odd").is_visible():
            one.locator("ol li:last-child button").click()
    page.locator(".result", has_text="Burr Moss").locator("[data-field=rider_kg] input").fill("heavy")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".result .wrong:not(.odd)")).to_have_text(
        "heavy cannot be read as a weight: write it like 9-2, 58 kg or 128 lb."
    )
    page.locator(".result", has_text="Burr Moss").locator("[data-field=rider_kg] input").fill("9-2")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#setup")).to_be_visible()
    until(lambda: len(clocked(world.books)) == before + 2)
    assert clocked(world.books)[-2][2]["rider_kg"] == 58.1


def test_what_is_thrown_away_is_gone(world: World) -> None:
    """Thrown away by two presses a clocking leaves nothing, neither on the phone nor in the books."""
    page, before = world.phone, len(clocked(world.books))
    opened(page)
    page.get_by_text("Others, or in another way").click()
    page.locator("[name=horse0]").select_option("Thatch")
    page.get_by_label("Every furlong, so many").fill("4")
    page.get_by_label("Every furlong, so many").press("Tab")
    expect(page.locator(".answer")).to_have_text("One horse, four marks: press when it passes.")
    page.locator("[name=from]").select_option("1f")
    expect(page.locator("#setup .over")).to_have_text("Marks at 1f, 2f, 3f.")
    page.get_by_role("button", name="To the clock").click()
    expect(page.locator("#running .lane:visible")).to_have_count(0)
    page.get_by_role("button", name="Start").tap()
    expect(page.locator("#running .lane:visible")).to_have_count(1)
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#after .wrong:visible")).to_have_text("No mark was pressed, so there is nothing to save.")
    page.get_by_role("button", name="Throw away").click()
    page.get_by_role("button", name="Press once more to throw it away").click()
    expect(page.locator("#setup")).to_be_visible()
    page.reload()
    expect(page.locator("#clock[data-ready]")).to_be_attached()
    expect(page.locator("#running")).to_be_hidden()
    assert len(clocked(world.books)) == before


def each_look(page: Page) -> Iterator[tuple[str, str]]:
    for name, (width, height) in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            yield name, scheme


def low(page: Page, least: int, where: str) -> list[str]:
    script = """(all, least) => all.filter(e => e.checkVisibility() && e.getBoundingClientRect().height < least)
        .map(e => e.outerHTML)"""
    return list(page.locator(where).evaluate_all(script, least))


def test_it_is_fit_to_be_used(world: World, keep: Callable[[Page, str], None]) -> None:
    """At each width and in each scheme no rule of the accessibility engine is broken.

    Nothing scrolls sideways, the running clock not at all; a mark's button is at least 96 px high, others 44.
    """
    page = world.phone
    opened(page)
    page.locator(".works input").first.check()
    page.locator("#setup summary").click()
    for look in each_look(page):
        keep(page, f"clock-setup-{'-'.join(look)}")
        assert (faults(page), too_wide(page)) == ([], 0), look
        assert low(page, 44, "main :is(button, .button, select, input:not([type=radio]))") == [], look
    page.get_by_role("button", name="To the clock").click()
    for look in each_look(page):
        keep(page, f"clock-armed-{'-'.join(look)}")
        assert (faults(page), scrolls(page)) == ([], [0, 0]), look
    page.get_by_role("button", name="Start").click()
    page.wait_for_timeout(1700)
    lane(page, "Burr Moss").locator(".mark").click()
    for look in each_look(page):
        keep(page, f"clock-running-{'-'.join(look)}")
        assert (faults(page), scrolls(page)) == ([], [0, 0]), look
        assert low(page, 96, "#running .mark") + low(page, 44, "#running button") == [], look
    page.set_viewport_size({"width": 700, "height": 360})
    assert scrolls(page) == [0, 0]
    assert low(page, 96, "#running .mark") == []
    page.set_viewport_size({"width": 390, "height": 844})
    page.get_by_role("button", name="Finish").click()
    for details in page.locator("#after details:visible").all():
        details.locator("summary").click()
    for look in each_look(page):
        keep(page, f"clock-after-{'-'.join(look)}")
        assert (faults(page), too_wide(page)) == ([], 0), look
        assert low(page, 44, "main :is(button, .button, select, input:not([type=radio]))") == [], look


KEPT = """() => new Promise((done) => {
  const asked = indexedDB.open("upsides-diary");
  asked.onsuccess = () => {
    const all = asked.result.transaction("phone").objectStore("phone").getAllKeys();
    all.onsuccess = () => { asked.result.close(); done(all.result); };
  };
})"""
"""What a phone keeps of who enters on it."""


def test_the_mornings_works_come_with_any_page(world: World, browser: Browser) -> None:
    """A phone that had another page with signal has the works too, and whoever does not clock is told who does.

    When somebody else begins to enter on the phone the works are gone from it.
    """
    context = browser.new_context(base_url=world.at, viewport={"width": 390, "height": 844})
    page = context.new_page()
    sign_in(page, "head_person")
    page.goto("/diary/")
    page.evaluate(READY)
    until(lambda: page.evaluate(KEPT) == ["author", "works"])
    context.set_offline(offline=True)
    page.goto("/clock/")
    expect(page.locator(".works label").first).to_contain_text("Burr Moss and Curlew Sands")
    context.set_offline(offline=False)
    context.clear_cookies()
    sign_in(page, "carer")
    page.goto("/diary/")
    expect(page.locator("#enter[novalidate]")).to_be_visible()
    context.set_offline(offline=True)
    page.goto("/clock/")
    expect(page.locator(".answer")).to_have_text("Work is clocked by the trainer, an assistant or the head person.")
    expect(page.locator("#setup")).to_be_hidden()
    assert page.evaluate(KEPT) == ["author"]
    context.close()
