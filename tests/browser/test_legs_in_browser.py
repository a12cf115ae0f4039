"""What only a browser can tell of the picture of the legs: tapping it, keys, what is read out, what it looks like."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from accessibility import faults

pytestmark = pytest.mark.browser

OpenAs = Callable[..., Page]
DIARY = "/diary/?horse={}&kind=leg"


def opened(open_as: OpenAs, horse: int, size: str = "phone", scheme: str = "light", **more: object) -> Page:
    page = open_as("head_person", size, scheme, **more)
    page.goto(DIARY.format(horse))
    if more.get("java_script_enabled", True):
        expect(page.locator("#enter")).to_have_js_property("noValidate", True)  # the script has taken over
    return page


def leg(page: Page) -> Locator:
    return page.locator("details[data-kind=leg]")


def spot(page: Page, limb: str, place: str) -> Locator:
    return leg(page).locator(f'.legs input[value="{limb} {place}"]')


def at(one: Locator, share: float) -> dict[str, float]:
    """A point of a place, so far along the drawn leg from its left edge, CSS px from the corner of its choice."""
    script = """input => {
        const halves = [...input.parentElement.querySelectorAll(".front, .back")];
        const edges = halves.map(half => half.getBoundingClientRect());
        const [left, right] = [Math.min(...edges.map(e => e.left)), Math.max(...edges.map(e => e.right))];
        return [left - input.getBoundingClientRect().left, right - left];
    }"""
    left, width = one.evaluate(script)
    return {"x": left + share * width, "y": one.bounding_box()["height"] / 2}


def typed(page: Page) -> dict[str, str]:
    """What the form would send of the three."""
    script = "form => [...new FormData(form).entries()].filter(([name]) => name.startsWith('leg-'))"
    found = dict(page.locator("#enter").evaluate(script))
    return {name: found.get(f"leg-{name}", "") for name in ("limb", "place", "side")}


def words(page: Page) -> Locator:
    return leg(page).locator(".legs .words")


def test_a_tap_says_leg_place_and_half(open_as: OpenAs) -> None:
    """A tap chooses leg and place; in front or behind it says that too, in the middle it does not; chips change it."""
    page = opened(open_as, 1, has_touch=True)
    expect(words(page)).to_have_text("Nothing chosen yet.")
    taps = [
        ("near_fore", "tendon", 0.5, "near fore, tendon, back", "back"),
        ("near_fore", "cannon", 0.5, "near fore, cannon bone, front", "front"),
        ("near_hind", "fetlock", 0.15, "near hind, fetlock, front", "front"),
        ("near_hind", "fetlock", 0.5, "near hind, fetlock", ""),
        ("off_fore", "knee", 0.15, "off fore, knee, back", "back"),
        ("off_hind", "foot", 0.85, "off hind, foot, front", "front"),
    ]
    for limb, place, share, said, side in taps:
        one = spot(page, limb, place)
        one.tap(position=at(one, share))
        expect(words(page)).to_have_text(said)
        assert typed(page) == {"limb": limb, "place": place, "side": side}
    leg(page).get_by_text("inside", exact=True).tap()
    expect(words(page)).to_have_text("off hind, foot, inside")
    assert typed(page)["side"] == "inside"
    assert leg(page).locator(".legs input:checked").count() == 1


def test_it_is_chosen_by_keys_and_read_out(open_as: OpenAs) -> None:
    """Tab comes to the picture once, arrows go from place to place, each has its name, and what is chosen is told."""
    page = opened(open_as, 2, "desktop")
    first = leg(page).get_by_role("radio", name="near fore, above knee or hock")
    first.focus()
    page.keyboard.press("Space")
    expect(words(page)).to_have_text("near fore, above knee or hock")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(words(page)).to_have_text("near fore, tendon")
    assert typed(page) == {"limb": "near_fore", "place": "tendon", "side": ""}
    assert words(page).get_attribute("role") == "status"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "leg-side"
    page.keyboard.press("Shift+Tab")
    assert page.evaluate("document.activeElement.value") == "near_fore tendon"
    assert leg(page).get_by_role("radio", name="off hind, hock").count() == 1


def test_what_was_chosen_is_entered_and_the_picture_is_empty_again(open_as: OpenAs) -> None:
    """The entry says what was tapped, and the next one begins with nothing chosen; the legs' page fills that place."""
    page = opened(open_as, 3, has_touch=True, expected="ERR_ABORTED")  # what it asks when it is left for another page
    one = spot(page, "off_hind", "pastern")
    one.tap(position=at(one, 0.9))
    leg(page).get_by_text("heat", exact=True).tap()
    leg(page).get_by_role("button", name="Enter").tap()
    expect(page.locator("#done")).to_contain_text("Leg: off hind; pastern; front; heat.")
    leg(page).locator("summary").tap()
    expect(words(page)).to_have_text("Nothing chosen yet.")
    page.goto("/horse/3/legs/")
    expect(page.locator(".answer")).to_contain_text("Off hind, pastern, front, on")
    assert page.locator(".limb.off_hind .spot.at-pastern.newest .front.is").count() == 1


def test_without_a_script_there_are_plain_choices(open_as: OpenAs) -> None:
    """Without scripts leg, place and side are chosen one by one, and entered."""
    page = opened(open_as, 4, java_script_enabled=False)
    expect(page.locator(".legs")).to_have_count(0)
    leg(page).get_by_text("near hind", exact=True).click()
    leg(page).locator("select[name=leg-place]").select_option("hock")
    leg(page).get_by_text("filling", exact=True).click()
    leg(page).get_by_role("button", name="Enter").click()
    expect(page.locator(".messages")).to_contain_text("Leg: near hind; hock; filling.")


def test_what_is_missing_is_said_beside_the_picture(open_as: OpenAs) -> None:
    """Entered with nothing tapped, the form says what is missing where it can be seen, and sends nothing."""
    page = opened(open_as, 3)
    leg(page).get_by_role("button", name="Enter").click()
    expect(leg(page).locator(".wrong")).to_be_visible()
    expect(leg(page)).to_have_attribute("open", "")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_both_pictures_are_fit_to_be_read(open_as: OpenAs, size: str) -> None:
    """Tapped or shown, the picture keeps the rules of the accessibility engine, is large enough and not too wide."""
    page = opened(open_as, 6, size)
    spot(page, "near_fore", "fetlock").check()
    wide = "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
    for address in ("", "/horse/3/legs/"):
        if address:
            page.goto(address)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert faults(page) == []
        assert page.evaluate(wide)
        if not address:
            sizes = page.locator(".legs .spot input").evaluate_all(
                "all => all.map(one => Math.min(one.offsetWidth, one.offsetHeight))"
            )
            assert min(sizes) >= 24  # WCAG 2.2, 2.5.8
