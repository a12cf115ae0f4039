"""The diary on phones that lose signal: in Chromium, under a name of the yard's own, with a certificate.

The steps build on one another as a morning does, so each test leaves the phones as the next finds them.
"""

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

import fresh
import phones
from phones import LOSE_AN_ANSWER, NAME, PASSWORD, PIN

pytestmark = pytest.mark.browser
LAN = "office-machine.test"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
NOTE = "Left some of the evening feed."

CONTROLLED = """navigator.serviceWorker.controller || new Promise((there) => {
  navigator.serviceWorker.addEventListener("controllerchange", () => there(true), { once: true });
}).then(() => true)"""


@dataclass(frozen=True)
class World:
    """The yard, its books and its phones."""

    at: str
    plain: str
    server: phones.Server
    books: phones.Books
    barn: BrowserContext
    own: BrowserContext


@pytest.fixture(scope="module")
def world(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """A yard that begins to keep a diary, a barn phone, and the head person's own phone."""
    folder = tmp_path_factory.mktemp("offline")
    yard, shown = phones.library(folder / "yard"), phones.papers(folder)
    tls = ("--cert", str(shown.cert), "--key", str(shown.key), "--name", NAME)
    with fresh.fresh(yard, ready=True) as env:
        books = phones.Books(yard, env)
        token = books.ask(f"settle({PASSWORD!r}, {PIN!r})")
        with phones.serving(yard, env, *tls) as server, phones.serving(yard, env, "--name", LAN) as lan:
            at, plain = server.address, lan.address.replace("127.0.0.1", LAN)
            barn, own = (phone(browser, folder / name, shown.pin) for name in ("barn", "own"))
            barn.add_cookies([{"name": "upsides_device", "value": token, "url": at, "httpOnly": True}])
            yield World(at, plain, server, books, barn, own)
            barn.close()
            own.close()
        books.close()


def phone(browser: Browser, folder: Path, pin: str) -> BrowserContext:
    """A phone's browser, which keeps what pages leave there, and knows the yard's certificate."""
    names = f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP {LAN} 127.0.0.1"
    return browser.browser_type.launch_persistent_context(
        folder,
        executable_path="/usr/bin/chromium",
        headless=True,
        viewport={"width": 390, "height": 844},
        args=[*FLAGS, names, f"--ignore-certificate-errors-spki-list={pin}"],
    )


def page_of(context: BrowserContext) -> Page:
    return context.pages[0]


def come_in(world: World, name: str, page: Page | None = None) -> Page:
    """Tap a name on the barn phone and enter the PIN."""
    page = page or page_of(world.barn)
    page.goto(f"{world.at}/barn/")
    if page.locator(".over button").count():
        page.locator(".over button").click()
    page.get_by_role("link", name=name).click()
    page.locator("[name=pin]").fill(PIN)
    page.locator("form:has([name=pin]) button.main").click()
    page.wait_for_url(f"{world.at}/checks/")
    page.goto(f"{world.at}/diary/")
    page.evaluate(CONTROLLED)
    if not page.locator("#today").count():  # this machine was slow, and the phone showed what it keeps
        page.reload()
    taken_over(page)
    return page


def taken_over(page: Page) -> None:
    """Wait until the form is the script's, which keeps what is entered before it sends it."""
    expect(page.locator("#enter[novalidate]")).to_be_visible()


def sign_in(page: Page, at: str, login: str) -> None:
    page.goto(f"{at}/account/login/")
    page.locator("[name=login]").fill(login)
    page.locator("[name=password]").fill(PASSWORD)
    page.locator("form:has([name=password]) button").first.click()
    page.wait_for_url(f"{at}/")


def enter(page: Page, horse: str, kind: str, value: str = "") -> None:
    page.get_by_text(horse, exact=True).first.click()
    if not value:
        page.get_by_role("button", name=kind, exact=True).click()
        return
    group = page.locator(f"details.kind:has(summary:text-is('{kind}'))")
    if group.get_attribute("open") is None:
        group.locator("summary").click()
    group.locator("input, textarea").fill(value)
    group.get_by_role("button").click()


def sent(page: Page) -> None:
    expect(page.locator("#waiting")).to_be_hidden(timeout=60_000)


def last(books: phones.Books) -> int:
    return max((row["id"] for row in books.ask("rows()")), default=0)


def test_the_name_is_a_secure_place_and_the_diary_can_be_installed(world: World) -> None:
    """Under its certificate the yard is a secure context, its worker has the pages, and Chromium would install it."""
    page = come_in(world, "carer one")
    assert page.evaluate("window.isSecureContext")
    assert page.evaluate("navigator.serviceWorker.controller.scriptURL") == f"{world.at}/worker.js"
    expect(page.locator(".horses .horse").first).to_have_text("Curlew Sands")
    tools = world.barn.new_cdp_session(page)
    found = tools.send("Page.getAppManifest")
    assert found["errors"] == []
    assert found["url"] == f"{world.at}/manifest.webmanifest"
    assert tools.send("Page.getInstallabilityErrors")["installabilityErrors"] == []


def test_entering_goes_on_without_signal(world: World) -> None:
    """Without signal the page loads, takes entries and says what it cannot know; with signal they arrive as written."""
    page, before = page_of(world.barn), last(world.books)
    world.barn.set_offline(offline=True)
    page.reload()
    expect(page.locator("#signal")).to_contain_text("What others have entered meanwhile cannot be known here")
    expect(page.locator("#entering-as")).to_contain_text("Entering as carer one.")
    enter(page, "Curlew Sands", "Temperature", "101.1 F")
    enter(page, "Burr Moss", "Note", NOTE)
    enter(page, "Thatch", "Looked at")
    expect(page.locator("#waiting ol > li")).to_have_count(3)
    page.reload()
    expect(page.locator("#waiting ol > li .words")).to_have_text(["Temperature: 101.1 F", f"Note: {NOTE}", "Looked at"])
    page.goto(f"{world.at}/me/")
    expect(page.locator("h1")).to_have_text("No signal")
    page.get_by_role("link", name="To the diary").click()
    expect(page.locator("#waiting ol > li")).to_have_count(3)
    world.barn.set_offline(offline=False)
    sent(page)
    expect(page.locator("#signal")).to_contain_text("Signal is back")
    rows = world.books.ask(f"rows({before})")
    assert [(row["kind"], row["horse_id"], row["author__login"], row["device__name"]) for row in rows] == [
        ("temperature", 2, "carer", "Top barn"),
        ("note", 1, "carer", "Top barn"),
        ("looked_at", 3, "carer", "Top barn"),
    ]
    assert [row["values"] for row in rows] == [{"celsius": 38.39}, {"text": NOTE}, {}]
    assert all(datetime.fromisoformat(row["made_at"]) < datetime.fromisoformat(row["recorded_at"]) for row in rows)
    page.get_by_role("link", name="See what others have entered").click()
    expect(page.locator("#today .words")).to_have_count(3)


def test_what_cannot_be_right_is_said_without_signal_too(world: World) -> None:
    """A value that no horse can have, and an entry for no horse, are held back on the phone itself."""
    page = page_of(world.barn)
    world.barn.set_offline(offline=True)
    page.reload()
    page.get_by_role("button", name="Looked at", exact=True).click()
    expect(page.locator(".wrong")).to_have_text("Choose the horse first.")
    enter(page, "Thatch", "Temperature", "50")
    expect(page.locator(".wrong")).to_have_text("50 cannot be right: it lies between 35 and 43 °C, or 95 and 109.4 °F.")
    expect(page.locator("#waiting")).to_be_hidden()
    world.barn.set_offline(offline=False)


def test_the_yards_computer_may_be_off_and_the_session_gone(world: World) -> None:
    """With the server really stopped and every session ended meanwhile, what was entered arrives all the same."""
    page, before = come_in(world, "carer one"), last(world.books)
    world.server.stop()
    world.books.ask("sessions_end()")
    page.reload()
    expect(page.locator("#signal")).to_contain_text("No signal.")
    enter(page, "Burr Moss", "Temperature", "38,4")
    expect(page.locator("#waiting ol > li")).to_have_count(1)
    world.server.start()
    sent(page)
    (row,) = world.books.ask(f"rows({before})")
    assert (row["author__login"], row["values"]) == ("carer", {"celsius": 38.4})
    page.reload()
    page.wait_for_url(f"{world.at}/barn/")


def test_what_was_sent_twice_is_there_once(world: World) -> None:
    """Where the answer is lost on its way back the phone sends again, and there is still one row."""
    page, before = come_in(world, "carer one"), last(world.books)
    page.evaluate(LOSE_AN_ANSWER)
    enter(page, "Thatch", "Temperature", "38.1")
    expect(page.locator("#today li", has_text="38.1 °C (100.6 °F)")).to_be_visible(timeout=60_000)
    assert '"recorded"' in page.evaluate("window.lost")
    assert [row["values"] for row in world.books.ask(f"rows({before})")] == [{"celsius": 38.1}]


def test_the_next_person_takes_on_nothing(world: World) -> None:
    """What waits stays its author's, its words unseen by the next person; a clock that went back is said in words."""
    page = come_in(world, "carer one")
    world.books.ask("clock_goes_back()")
    before = last(world.books)
    enter(page, "Thatch", "Note", NOTE)
    expect(page.locator("#signal")).to_contain_text("the clock of this computer says".capitalize())
    expect(page.locator("#signal")).to_contain_text("They are kept on this phone.")
    page = come_in(world, "carer two")
    expect(page.locator("#waiting .others li")).to_have_text(["1 entry of carer one waits."])
    assert NOTE not in page.content().replace(page.locator("#today").inner_html(), "")
    enter(page, "Thatch", "Looked at")
    expect(page.locator("#waiting ol > li")).to_have_count(1)
    world.books.ask("clock_accepted()")
    sent(page)
    rows = world.books.ask(f"rows({before})")
    assert [(row["kind"], row["author__login"]) for row in rows] == [("note", "carer"), ("looked_at", "carer2")]


def test_a_page_left_open_enters_for_nobody_else(world: World) -> None:
    """On a page that was opened in one name nothing is entered once somebody else has come in beside it."""
    page, before = come_in(world, "carer one"), last(world.books)
    other = come_in(world, "carer two", world.barn.new_page())
    enter(page, "Thatch", "Looked at")
    expect(page.locator("#signal")).to_contain_text("Somebody else uses this phone now.")
    other.close()
    assert world.books.ask(f"rows({before})") == []


def test_without_signal_whoever_is_not_its_owner_can_stop_a_name(world: World) -> None:
    """A phone that was passed on goes on in nobody's name after one tap, and nothing can be entered there."""
    page = come_in(world, "carer one")
    world.barn.set_offline(offline=True)
    page.reload()
    page.get_by_role("button", name="Not you?").click()
    expect(page.locator("#entering-as")).to_contain_text("Nobody is signed in on this phone")
    expect(page.locator("#enter")).to_be_hidden()
    world.barn.set_offline(offline=False)


def test_what_the_books_refuse_stays_until_its_author_has_seen_to_it(world: World) -> None:
    """A refused entry stays on the phone with the reason; its author puts it right, or throws it away."""
    page, before = come_in(world, "carer one"), last(world.books)
    page.locator("#enter [name=temperature-celsius]").evaluate("field => { field.dataset.spans = '[]'; }")
    for value in ("50", "60"):
        enter(page, "Thatch", "Temperature", value)
        expect(page.locator("#waiting .refused", has_text=f"'{value}'")).to_contain_text("measure again")
    for item in page.locator("#waiting ol > li").all():
        item.locator("summary").click()
    page.locator("#waiting li", has_text="'60'").get_by_role("button", name="Throw away").click()
    again = page.locator("#waiting li", has_text="'50'")
    again.locator(".fields input").fill("38.2")
    again.get_by_role("button", name="Send again").click()
    sent(page)
    assert [row["values"] for row in world.books.ask(f"rows({before})")] == [{"celsius": 38.2}]


def test_signing_in_again_lets_go_what_waited_for_it(world: World) -> None:
    """What is refused because its author was signed out everywhere goes through once the author has come in again."""
    page, before = come_in(world, "carer one"), last(world.books)
    world.books.ask("signed_out_everywhere('carer')")
    enter(page, "Burr Moss", "Looked at")
    expect(page.locator("#waiting .refused")).to_contain_text("signed out everywhere")
    page = come_in(world, "carer two")
    expect(page.locator("#waiting .others li")).to_have_text(["1 entry of carer one waits."])
    page = come_in(world, "carer one")
    end = time.monotonic() + 60
    while not world.books.ask(f"rows({before})") and time.monotonic() < end:
        page.wait_for_timeout(200)  # the page hides what waits until it has looked, so it does not tell
    sent(page)
    (row,) = world.books.ask(f"rows({before})")
    assert (row["author__login"], row["kind"]) == ("carer", "looked_at")


def test_a_phone_keeps_nothing_of_anybody_but_what_waits(world: World) -> None:
    """The caches hold the empty page, its parts and the horses' names: nobody's name, mark or words."""
    page = page_of(world.barn)
    script = """async () => {
      const kept = [];
      for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const asked of await cache.keys()) {
          kept.push([new URL(asked.url).pathname, await (await cache.match(asked)).text()]);
        }
      }
      return kept;
    }"""
    kept = dict(page.evaluate(script))
    shells = {f"/{name}/shell/" for name in ("diary", "checks", "clock")}
    assert shells | {"/diary/no-signal/", "/diary/horses.json"} <= kept.keys()
    assert all(place.startswith(("/diary/", "/static/", *shells)) for place in kept)
    text = re.sub(r'\sd="[^"]*"', "", " ".join(kept.values()))  # the lines of drawings are numbers too
    assert "Curlew Sands" in kept["/diary/horses.json"]
    for inside in ("carer one", "carer two", "trainer one", NOTE, "38.4", "csrfmiddlewaretoken"):
        assert inside not in text


def test_two_who_correct_the_same_entry_are_both_kept(world: World) -> None:
    """One corrects without signal, another with: both stay, the page says so, and the head person settles it."""
    page = come_in(world, "carer one")
    enter(page, "Burr Moss", "Temperature", "38.9")
    expect(page.locator("#done")).to_have_text("Entered for Burr Moss: Temperature 38.9 °C (102.0 °F).")
    expect(page.locator("#today li", has_text="38.9 °C")).to_be_visible()
    world.barn.set_offline(offline=True)
    head = page_of(world.own)
    sign_in(head, world.at, "head_person")
    head.goto(f"{world.at}/diary/")
    taken_over(head)
    for one, value in ((head, "38.5"), (page, "39.8")):
        entry = one.locator("#today li", has_text="38.9 °C")
        entry.get_by_text("Correct or withdraw").click()
        entry.locator(".fields input").fill(value)
        entry.get_by_role("button", name="Correct", exact=True).click()
    expect(head.locator("#today li", has_text="38.5 °C")).to_be_visible()
    expect(page.locator("#waiting .words")).to_have_text(["Corrected: Temperature: 39.8"])
    world.barn.set_offline(offline=False)
    sent(page)
    expect(page.locator("#summary")).to_contain_text("1 entry was corrected in more than one way")
    head.goto(f"{world.at}/diary/conflicts/")
    expect(head.locator(".conflict .words")).to_have_text(
        ["Temperature 38.5 °C (101.3 °F).", "Temperature 39.8 °C (103.6 °F)."]
    )
    head.locator(".conflict li", has_text="38.5 °C").get_by_role("button", name="This is right").click()
    expect(head.locator(".answer")).to_have_text("No corrections disagree.")
    head.goto(f"{world.at}/diary/")
    expect(head.locator("#today li", has_text="38.5 °C")).to_have_count(1)
    expect(head.locator("#today li", has_text="39.8 °C")).to_have_count(0)


def test_without_a_certificate_the_page_says_what_is_missing(world: World) -> None:
    """Under a plain name nothing can be kept, which the page says; entering works while there is signal."""
    page, before = world.own.new_page(), last(world.books)
    sign_in(page, world.plain, "head_person")
    page.goto(f"{world.plain}/diary/")
    assert not page.evaluate("window.isSecureContext")
    expect(page.locator("#signal")).to_contain_text("does not begin with https")
    enter(page, "Thatch", "Temperature", "100.4")
    expect(page.locator(".messages")).to_have_text("Entered for Thatch: Temperature 38.0 °C (100.4 °F).")
    (row,) = world.books.ask(f"rows({before})")
    assert (row["author__login"], row["values"]) == ("head_person", {"celsius": 38.0})
