"""Charts that the browser draws anew: in sight, in the page's colours, under its strict policy."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from upsides.charts.theme import DARK, LIGHT

pytestmark = pytest.mark.browser

OpenAs = Callable[..., Page]
ENGINE = re.compile(r"/static/vega\.\w+\.js")
PLACE = "e => [e.offsetLeft, e.offsetTop, e.offsetWidth, e.offsetHeight].join()"
SEEN = "all => all.filter(e => e.checkVisibility({visibilityProperty: true})).length"


def raced(page: Page) -> None:
    """Go to a horse that has run, as a person would from the string."""
    page.goto(reverse("string"))
    page.locator("main table th a").first.click()
    page.wait_for_url("**/horse/**")


def drawn(page: Page) -> None:
    """Wait until the browser has drawn the chart."""
    page.locator("figure.chart").scroll_into_view_if_needed()
    expect(page.locator("figure.chart.drawn")).to_have_count(1)


def rgb(colour: str) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


def fills(page: Page) -> set[str]:
    script = "all => all.map(e => getComputedStyle(e).fill)"
    return set(page.locator(".moving path").evaluate_all(script))


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_a_chart_takes_the_pictures_place(open_as: OpenAs, size: str) -> None:
    """The chart lies just where the picture was, nothing on the page moves, and both say the same to who cannot see."""
    page = open_as("trainer", size)
    raced(page)
    before = page.locator("figure.chart").evaluate(PLACE)
    drawn(page)
    assert page.locator("figure.chart").evaluate(PLACE) == before
    expect(page.locator(".moving svg")).to_be_visible()
    assert (
        page.locator(".still svg:visible").evaluate_all(
            "all => all.filter(e => e.checkVisibility({visibilityProperty: true}))"
        )
        == []
    )
    plot, svg = page.locator(".plot").bounding_box(), page.locator(".moving svg").bounding_box()
    assert svg["width"] == pytest.approx(plot["width"], abs=2)
    assert svg["height"] == pytest.approx(plot["height"], abs=2)
    title = page.locator(".still svg > title").first.text_content()
    assert page.get_by_role("img", name=re.compile(re.escape(str(title)))).count() == 1


def test_a_chart_says_its_words_on_pointing(open_as: OpenAs) -> None:
    """Pointing at a run shows its date, course and figure, the same as the picture's."""
    page = open_as("trainer")
    raced(page)
    words = page.locator(".still .wide path title").all_text_contents()
    assert len(words) == page.locator(".runs td.when").count()
    drawn(page)
    page.locator(".moving .layer_5_marks path, .moving [aria-roledescription=point]").first.hover(force=True)
    expect(page.locator("#vg-tooltip-element")).to_be_visible()
    assert page.locator("#vg-tooltip-element").inner_text() in words


def test_a_chart_follows_the_scheme_and_leaves_paper_to_the_picture(open_as: OpenAs) -> None:
    """Turning dark recolours the chart without drawing it again; print shows the picture in light colours."""
    page = open_as("trainer")
    raced(page)
    drawn(page)
    assert rgb(LIGHT.gorse) in fills(page)
    page.emulate_media(color_scheme="dark")
    assert rgb(DARK.gorse) in fills(page)
    assert rgb(LIGHT.gorse) not in fills(page)
    page.emulate_media(media="print")
    expect(page.locator(".moving")).to_be_hidden()
    expect(page.locator(".still .wide svg")).to_be_visible()


def test_a_chart_is_drawn_again_for_another_width(open_as: OpenAs) -> None:
    """When the window gets narrow the chart takes the narrow picture's place."""
    page = open_as("trainer")
    raced(page)
    drawn(page)
    page.set_viewport_size({"width": 390, "height": 844})
    expect(page.locator(".moving svg")).to_have_attribute("width", re.compile(r"^3[45]\d"))


def test_nothing_is_fetched_before_a_chart_comes_near(open_as: OpenAs) -> None:
    """The drawing engine is fetched when the chart comes near the screen and no sooner."""
    page = open_as("trainer", "phone")
    raced(page)
    page.wait_for_load_state("networkidle")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_viewport_size({"width": 390, "height": 120})
    page.reload(wait_until="networkidle")
    assert asked
    assert not any(ENGINE.search(url) for url in asked)
    drawn(page)
    assert any(ENGINE.search(url) for url in asked)


def test_without_its_specification_the_picture_stays(open_as: OpenAs) -> None:
    """Where the specification cannot be had, what the server drew is still to be seen."""
    page = open_as("trainer", expected="ERR_FAILED|Failed to fetch")
    page.route("**/curve.json*", lambda route: route.abort())
    raced(page)
    page.wait_for_load_state("networkidle")
    expect(page.locator(".moving")).to_have_count(0)
    expect(page.locator(".still .wide svg")).to_be_visible()


def test_letters_of_a_picture_can_be_read(open_as: OpenAs) -> None:
    """One picture shows at each width, and its letters are 12 px or more."""
    page = open_as("trainer", expected="embed is not a function")
    page.route(ENGINE, lambda route: route.fulfill(body="", content_type="text/javascript"))
    raced(page)
    for width in (390, 820, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        shown = page.locator(".still .picture:visible")
        expect(shown).to_have_count(1)
        scale = shown.evaluate("e => e.getBoundingClientRect().width / e.viewBox.baseVal.width")
        assert scale * 14 >= 12
