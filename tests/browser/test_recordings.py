"""Recordings in a browser: a file dropped on the page, its horse put right, one cursor through all curves.

The steps build on one another as a morning does, so each test leaves the yard as the next finds it.
"""

import base64
import re
from collections.abc import Callable
from datetime import datetime

import pytest
from playwright.sync_api import Page, expect

from accessibility import faults, too_wide
from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.formats.fit import write_fit

pytestmark = pytest.mark.browser
OpenAs = Callable[..., Page]
WIDTHS = ((320, 640), (390, 844), (820, 1180), (1280, 900))
PANELS = 4
"""Speed, heart, height, gradient."""
READ_MS = 90_000
"""A worker that has other work reads a file within this."""
DROP = """([name, data]) => {
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const dragged = new DataTransfer();
  dragged.items.add(new File([bytes], name));
  for (const type of ["dragover", "drop"]) {
    document.body.dispatchEvent(new DragEvent(type, { dataTransfer: dragged, bubbles: true, cancelable: true }));
  }
}"""


def file(seed: int, page: Page) -> bytes:
    """A horse's morning with fast work, on the yard's own day, as a device writes it."""
    day = re.search(r"(\d+)\s(\w+)\s(\d{4})", page.locator(".dateline").inner_text())
    start = datetime.strptime(f"{' '.join(day.groups())} 05:00 +0000", "%d %B %Y %H:%M %z").timestamp()
    return write_fit(alone(seed, Receiver(rate_hz=2.0), start_s=start).recording)


def wrong_with(page: Page) -> list[str]:
    """What breaks a rule of the accessibility engine, or scrolls sideways, at any width."""
    found = []
    for width, height in WIDTHS:
        page.set_viewport_size({"width": width, "height": height})
        found += [f"{width} px: {by} px too wide"] if (by := too_wide(page)) else []
        found += [f"{width} px: {broken}" for broken in faults(page)]
    return found


def settled(page: Page) -> None:
    """Wait until the browser has drawn the page's charts anew, so that nothing is asked for when the page is left."""
    for figure in page.locator("figure.chart[data-spec]").all():
        figure.scroll_into_view_if_needed()
        expect(figure).to_have_class(re.compile("drawn"), timeout=20_000)


def recording(page: Page) -> None:
    """Open the recording that came in last."""
    page.goto("/recordings/")
    page.locator("#waiting h3 a, .came th a").first.click()
    expect(page.locator("#whose")).to_be_visible()
    settled(page)


def test_a_dropped_file_is_read_while_one_looks(open_as: OpenAs) -> None:
    """A file dropped anywhere on the page is sent, and the page says by itself when it was read."""
    page = open_as("trainer")
    page.goto("/recordings/")
    page.evaluate(DROP, ["first.fit", base64.b64encode(file(11, page)).decode()])
    expect(page.locator(".readings").first).to_be_visible()
    expect(page.locator("#now")).to_contain_text("1 recording read", timeout=READ_MS)
    assert wrong_with(page) == []


def test_a_file_is_given_without_script_too(open_as: OpenAs) -> None:
    """Without script the form does the same; a file that is none says why not."""
    page = open_as("trainer", java_script_enabled=False)
    page.goto("/recordings/")
    files = [{"name": "notes.fit", "mimeType": "application/octet-stream", "buffer": b"no recording"}]
    page.set_input_files("input[type=file]", files)
    page.get_by_role("button", name="Take them in").click()
    page.wait_for_url("**/recordings/")
    for _ in range(60):
        page.goto("/recordings/")
        if page.get_by_text("1 could not be read").count():
            break
        page.wait_for_timeout(1000)
    expect(page.locator(".refused").first).to_contain_text("notes.fit")


def test_whose_it_is_is_put_right_by_a_press(open_as: OpenAs) -> None:
    """A recording is given to a horse, and then to another."""
    page = open_as("trainer", "phone")
    recording(page)
    correct = page.locator(".correct > summary")
    if correct.count():
        correct.click()
    other = page.locator(".other summary")
    other.click()
    names = page.locator(".other option").all_inner_texts()
    page.locator(".other select").select_option(label=names[0])
    page.get_by_role("button", name="It is this one").click()
    expect(page.locator("h1")).to_have_text(names[0])
    settled(page)
    page.locator(".correct > summary").click()
    page.locator(".other summary").click()
    page.locator(".other select").select_option(label=names[1])
    page.get_by_role("button", name="It is this one").click()
    expect(page.locator("h1")).to_have_text(names[1])
    settled(page)
    expect(page.locator("#content")).to_contain_text("somebody said so")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_one_cursor_goes_through_all_curves(open_as: OpenAs, size: str) -> None:
    """Pointing at any panel, and the slider with the keyboard, move one line through all and read the moment out."""
    page = open_as("trainer", size)
    recording(page)
    figure = page.locator(".cursored figure")
    output, rules = page.locator(".cursored output"), figure.locator(".moving .mark-rule.role-mark line")
    expect(output).to_contain_text("Point at the curves")
    box = figure.locator(".moving").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.2)
    expect(output).to_contain_text("m/s")
    expect(rules).to_have_count(PANELS)
    first = output.inner_text()
    page.mouse.move(box["x"] + box["width"] * 0.7, box["y"] + box["height"] * 0.9)
    expect(output).not_to_have_text(first)
    second = output.inner_text()
    page.locator("#here").focus()
    page.keyboard.press("ArrowRight")
    expect(output).not_to_have_text(second)
    expect(page.locator("#ground .here:visible")).to_have_count(1)
    drawn = figure.locator(".moving svg").bounding_box()
    plot = figure.locator(".plot").bounding_box()
    assert abs(drawn["width"] - plot["width"]) < 12
    assert drawn["height"] <= plot["height"] + 12


@pytest.mark.parametrize("which", ["recording", "works", "gallop", "line", "heat", "keys"])
def test_pages_are_fit_to_be_used(open_as: OpenAs, which: str) -> None:
    """No page of recordings breaks a rule of the accessibility engine or scrolls sideways, from 320 px to a desk."""
    page = open_as("trainer")
    recording(page)
    match which:
        case "works":
            page.goto("/recordings/")
            page.locator(".came th a").first.click()  # one that waits for a horse has no works
            page.get_by_role("link", name="all its works").click()
        case "line":
            page.get_by_role("link", name="Draw a gallop from a canter").click()
        case "gallop":
            page.goto("/recordings/")
            page.locator(".links a, h2:has-text('Gallops') ~ p a").first.click()
        case "heat":
            page.goto("/heat/?air=31&humidity=70")
        case "keys":
            page.goto("/recordings/keys/")
    expect(page.locator(".answer")).to_be_visible()
    settled(page)
    assert wrong_with(page) == []
