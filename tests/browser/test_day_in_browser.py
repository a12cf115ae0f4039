"""A whole day of the yard: tomorrow's list, checks without signal, lots, a treatment, the vet, the next day.

The yard's clock stands on one day and is moved from evening to morning by the test; the steps build on one another.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Page, expect

import fresh
import phones
from phones import PASSWORD, PIN, READY

pytestmark = pytest.mark.browser
DAYS = ("2026-06-19", "2026-06-20", "2026-06-21")


@dataclass(frozen=True)
class World:
    """The yard, its books, the barn's phone, and the pages of those who have signed in on their own."""

    at: str
    books: phones.Books
    browser: Browser
    phone: Page
    own: dict[str, Page] = field(default_factory=dict)

    def day(self, day: str) -> None:
        """Move the yard's clock to a day."""
        self.books.ask(f"Yard.objects.update(fixed_day={day!r})")

    def of(self, login: str) -> Page:
        """Return the page of somebody who has signed in with a password."""
        if login not in self.own:
            page = self.browser.new_context(base_url=self.at, viewport={"width": 390, "height": 844}).new_page()
            page.goto("/account/login/")
            page.locator("[name=login]").fill(login)
            page.locator("[name=password]").fill(PASSWORD)
            page.locator("form:has([name=password]) button").first.click()
            page.wait_for_url(f"{self.at}/")
            self.own[login] = page
        return self.own[login]


@pytest.fixture(scope="module")
def world(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """A yard with three horses, a rider, a vet, a gallop, and a clock that stands on its first evening."""
    yard = phones.library(tmp_path_factory.mktemp("day") / "yard")
    with fresh.fresh(yard, ready=True) as env:
        books = phones.Books(yard, env)
        token = books.ask(f"settle({PASSWORD!r}, {PIN!r})")
        books.ask("stable()")
        for role in ("vet", "rider", "assistant"):
            books.ask(f"add_person('{role} one', [{role!r}], login={role!r}, password={PASSWORD!r}).pk")
        books.ask("Gallop.objects.create(name='Uphill', surface='woodchip').pk")
        with phones.serving(yard, env) as server:
            at = server.address
            barn = browser.new_context(base_url=at, viewport={"width": 390, "height": 844}, has_touch=True)
            barn.add_cookies([{"name": "upsides_device", "value": token, "url": at, "httpOnly": True}])
            one = World(at, books, browser, barn.new_page())
            one.day(DAYS[0])
            yield one
            barn.close()
            for page in one.own.values():
                page.context.close()
        books.close()


def text(page: Page, address: str) -> str:
    page.goto(address)
    return " ".join(page.locator("main").inner_text().split())


def choose(page: Page, name: str, words: str) -> None:
    """Choose something of an order: a select by its words, a chip by tapping it."""
    control = page.locator(f"[data-field={name}]")
    select = control.locator("select")
    if select.count():
        select.select_option(label=words)
    else:
        control.get_by_text(words, exact=True).click()


def test_in_the_evening_tomorrow_s_list_is_made(world: World) -> None:
    """One press orders the usual for all; one horse is then given fast work and a rider, and stands marked."""
    page = world.of("trainer")
    assert "Nothing is ordered for Saturday 20 June yet." in text(page, "/evening/")
    page.get_by_role("button", name="Order the usual for 3 horses").click()
    expect(page.locator(".answer")).to_have_text("Every horse has an order for Saturday 20 June.")
    page.get_by_role("link", name="Change what Burr Moss does").click()
    choose(page, "exercise", "fast work")
    choose(page, "rider", "rider one")
    choose(page, "gallop", "Uphill")
    page.locator("[name=ordered-lot]").fill("1")
    page.locator("[name=ordered-furlongs]").fill("3 1/2 f")
    page.get_by_role("button", name="Order", exact=True).click()
    row = page.locator("#horse-1")
    expect(row).to_contain_text("fast work, 3½f")
    expect(row).to_contain_text("Uphill")
    expect(row).to_contain_text("rider one")


def test_in_the_morning_the_barn_is_walked_without_signal(world: World) -> None:
    """What the barn phone kept without signal stands on the morning once signal is back: whom to see first."""
    world.day(DAYS[1])
    page = world.phone
    page.goto("/barn/")
    page.get_by_role("link", name="carer one").click()
    page.locator("[name=pin]").fill(PIN)
    page.locator("form:has([name=pin]) button.main").click()
    page.wait_for_url("**/checks/")
    page.evaluate(READY)
    page.reload()
    expect(page.locator("#round[data-ready]")).to_be_attached()
    page.context.set_offline(offline=True)
    thatch, curlew = (
        page.locator("#round > li", has=page.get_by_role("heading", name=name)) for name in ("Thatch", "Curlew Sands")
    )
    warm = thatch.get_by_label("Temperature")
    warm.fill("39,3")
    warm.press("Enter")
    curlew.get_by_role("button", name="Not right", exact=True).tap()
    curlew.get_by_text("off fore", exact=True).tap()
    curlew.get_by_text("Ask the vet", exact=True).tap()
    curlew.locator(".panel .main").tap()
    expect(page.locator("#round .kept > li")).to_have_count(2)
    trainer = world.of("trainer")
    assert "1 of 3 horses goes out this morning, in 1 lot. Nothing that was entered asks" in text(trainer, "/")
    page.context.set_offline(offline=False)
    expect(page.locator("#round .kept > li")).to_have_count(0, timeout=60_000)
    morning = text(trainer, "/")
    assert "2 horses need eyes on first." in morning
    first = morning.partition("Look at these first")[2].partition("Not looked at yet")[0]
    assert first.index("Curlew Sands") < first.index("Thatch")
    assert "Not right: off fore; ask the vet." in first
    assert "Temperature 39.3 °C." in first
    trainer.get_by_role("link", name="Temperature 39.3 °C.").click()
    expect(trainer.locator("h1")).to_have_text("Temperature, Thatch")


def test_the_lot_is_back(world: World) -> None:
    """The assistant writes with one press that the lot did what was ordered."""
    page = world.of("assistant")
    assert "1 lot with 1 horse; none is written as done yet." in text(page, "/lots/")
    page.locator(".lot", has_text="Burr Moss").get_by_role("button", name="All did what was ordered").click()
    expect(page.locator(".answer")).to_contain_text("1 written as done.")
    assert "fast work" in text(page, "/horse/1/")


def test_a_treatment_is_given_and_a_second_one_asked_about(world: World) -> None:
    """When somebody is about to give what the head person gave, the page says who gave what and when."""
    for login, twice in (("head_person", False), ("trainer", True)):
        page = world.of(login)
        page.goto("/diary/?horse=3")
        expect(page.get_by_role("radio", name="Thatch")).to_be_checked()
        kind = page.locator("details[data-kind=treatment]")
        kind.locator("summary").click()
        kind.locator("[name=treatment-product]").fill("Coolpaste")
        kind.locator("[name=treatment-quantity]").fill("10 ml")
        kind.locator("[name=treatment-route]").select_option("oral")
        kind.locator("[name=treatment-what]").select_option("other")
        kind.locator("[name=treatment-reason]").fill("warm")
        kind.get_by_role("button", name="Enter").click()
        if twice:
            expect(kind.locator(".dose")).to_contain_text("head_person one entered: Treatment: Coolpaste")
            assert world.books.ask("Entry.objects.filter(kind='treatment').count()") == 1
        else:
            expect(page.get_by_role("status").filter(has_text="Treatment: Coolpaste")).to_be_visible()
    assert "Coolpaste" in text(world.of("trainer"), "/medicines/")


def test_the_vet_says_what_it_may_do(world: World) -> None:
    """What the vet found and advised is entered by the vet."""
    page = world.of("vet")
    page.goto("/diary/?horse=2")
    kind = page.locator("details[data-kind=vet_finding]")
    kind.locator("summary").click()
    kind.locator("[name=vet_finding-text]").fill("Bruised sole.")
    kind.locator("[data-field=advice]").get_by_text("walk only", exact=True).click()
    kind.locator("[name=vet_finding-until]").fill("2026-06-23")
    kind.get_by_role("button", name="Enter").click()
    expect(page.locator("#done")).to_contain_text("Bruised sole.")


def test_the_next_morning_is_another_one(world: World) -> None:
    """The advice bounds the next list, and what the vet saw asks for no eyes any more."""
    page = world.of("trainer")
    text(page, "/evening/")
    page.get_by_role("button", name="Order the usual for 3 horses").click()
    page.goto("/evening/2/?day=2026-06-21")
    choose(page, "exercise", "hack canter")
    page.get_by_role("button", name="Order", exact=True).click()
    expect(page.locator("#horse-2")).to_contain_text("the vet's advice does not allow it")
    page.goto("/evening/2/?day=2026-06-21")
    choose(page, "exercise", "walk")
    page.get_by_role("button", name="Order", exact=True).click()
    expect(page.locator("#horse-2")).not_to_contain_text("does not allow it")
    expect(page.locator("#horse-2")).to_contain_text("walk only until 23 June")
    world.day(DAYS[2])
    morning = text(page, "/")
    first = morning.partition("Look at these first")[2].partition("Not looked at yet")[0]
    assert "Thatch" in first
    assert "Curlew Sands" not in first
    assert "Ran yesterday" not in morning
    lots = text(page, "/lots/")
    assert "walk only until 23 June" in lots
