"""What only a browser can tell of the frame: thumbs, keys, colours, paper."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from desk import until
from upsides.books.services.invented import DEMO_PASSWORD
from upsides.charts.theme import DARK, LIGHT

pytestmark = pytest.mark.browser

OpenAs = Callable[..., Page]


def rgb(colour: str) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


def style(page: Page, selector: str, name: str) -> str:
    script = "([s, n]) => getComputedStyle(document.querySelector(s)).getPropertyValue(n)"
    return str(page.evaluate(script, [selector, name]))


def box(found: Locator) -> dict[str, float]:
    return dict(found.bounding_box())


def test_on_a_phone_the_places_lie_under_the_thumb(open_as: OpenAs) -> None:
    """They stand at the lower edge however far one scrolls, high enough for a thumb, and hide nothing at the end."""
    page = open_as("trainer", "phone")
    page.goto("/string/")
    places = page.locator(".places")
    for _ in range(2):
        assert box(places)["y"] + box(places)["height"] == 844
        page.keyboard.press("End")
        until(lambda: page.evaluate("scrollY > 500"))
    assert all(box(link)["height"] >= 44 for link in places.locator("a:visible").all())
    last = page.locator("footer button").last
    assert box(last)["y"] + box(last)["height"] <= box(places)["y"]


def test_what_the_keyboard_reaches_is_never_under_the_places(open_as: OpenAs) -> None:
    """Going through a long page by keyboard, what has the focus stays in sight (WCAG 2.2, 2.4.11)."""
    page = open_as("trainer", "phone")
    page.goto("/string/")
    top = box(page.locator(".places"))["y"]
    for link in page.locator("main a").all()[:12]:
        link.focus()
        place = box(link)
        assert place["y"] >= 0
        assert place["y"] + place["height"] <= top


def test_a_low_screen_keeps_its_room(open_as: OpenAs) -> None:
    """On a phone held across, the places scroll away with the head."""
    page = open_as("trainer")
    page.set_viewport_size({"width": 700, "height": 360})
    page.goto("/string/")
    assert style(page, ".places", "position") == "static"


def test_on_a_desk_the_places_stand_in_the_head(open_as: OpenAs) -> None:
    """The places, the name and the way out are in one line, and the page one is on is marked."""
    page = open_as("trainer")
    page.goto(reverse("people"))
    assert box(page.locator(".places"))["y"] < 80
    assert abs(box(page.locator(".places"))["y"] - box(page.locator(".you"))["y"]) < 30
    expect(page.locator(".places [aria-current=page]")).to_have_text("People")


@pytest.mark.parametrize(("scheme", "tokens"), [("light", LIGHT), ("dark", DARK)])
def test_colours_follow_the_scheme_and_paper_is_light(open_as: OpenAs, scheme: str, tokens: object) -> None:
    """Paper and text take the theme's light or dark values; print always the light ones."""
    page = open_as("trainer", "desktop", scheme)
    page.goto("/string/")
    assert style(page, "html", "background-color") == rgb(tokens.paper)
    assert style(page, "body", "color") == rgb(tokens.ink)
    page.emulate_media(media="print")
    assert style(page, "html", "background-color") == rgb(LIGHT.paper)
    assert style(page, "body", "color") == rgb(LIGHT.ink)


def test_paper_shows_no_buttons(open_as: OpenAs) -> None:
    """Printed, a page has neither places nor anything to press; the day, the answer and the headings stay."""
    page = open_as("trainer")
    page.goto("/string/")
    page.emulate_media(media="print")
    assert page.locator("nav:visible, input:visible, summary:visible").count() == 0
    assert page.locator("button:visible").count() == page.locator("thead th button:visible").count()
    expect(page.get_by_text("Looked after by", exact=True).locator("visible=true")).to_be_visible()
    expect(page.locator(".dateline")).to_be_visible()
    expect(page.locator(".answer")).to_be_visible()


def test_the_keyboard_reaches_the_content_first(open_as: OpenAs) -> None:
    """The first stop of the tab key is a visible link past the head."""
    page = open_as("trainer")
    page.goto("/string/")
    page.keyboard.press("Tab")
    focused = page.locator(":focus")
    expect(focused).to_have_text("Skip to the content")
    assert box(focused)["x"] >= 0
    page.keyboard.press("Enter")
    assert page.url.endswith("#content")


def test_coming_in_and_going_out(open_as: OpenAs) -> None:
    """With a name and a password one comes in, sees one's name, and by the button is out again."""
    page = open_as("", "phone")
    page.goto("/string/")
    login = page.locator("form:has(input[value=vet]) ~ p b").first.inner_text()
    page.get_by_label("Sign-in name").fill(login)
    page.get_by_label("Password").fill(DEMO_PASSWORD)
    page.locator("form.stack").get_by_role("button", name="Sign in").click()
    expect(page.locator("main h1")).to_have_text("The string")
    expect(page.locator(".you .name")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("h1")).to_have_text("Sign in")
    page.goto(reverse("people"))
    expect(page.locator("h1")).to_have_text("Sign in")


def test_looking_back_and_returning(open_as: OpenAs) -> None:
    """From the foot one looks at an earlier moment, is told so above the page, and gets back to now."""
    page = open_as("trainer")
    page.goto("/string/?sex=colt")
    page.get_by_label("Look at the books as they stood at").fill("2026-05-01T17:30")
    page.get_by_role("button", name="Look", exact=True).click()
    banner = page.get_by_role("region", name="An earlier moment")
    expect(banner).to_contain_text("1\u00a0May\u00a02026, 17:30")
    assert page.locator("main form[method=post]").count() == 0
    banner.get_by_role("link", name="Back to now").click()
    assert page.locator(".earlier").count() == 0
    assert page.url.endswith("/string/?sex=colt")


def test_a_missing_page_has_a_way_on(open_as: OpenAs) -> None:
    """A mistyped address leads to a calm page with a link to the string."""
    page = open_as("trainer", "phone", expected="404")
    page.goto("/nowhere")
    page.locator("main").get_by_role("link", name="The string").click()
    expect(page.locator("h1")).to_have_text("The string")
