"""A finger on a touch screen, which a browser is told of in its own words."""

from playwright.sync_api import Locator, Page


def draw_by_finger(page: Page, grip: Locator, onto: Locator) -> None:
    """Put a finger on the middle of a grip, draw it to the middle of something else, and lift it."""
    begin, end = grip.bounding_box(), onto.bounding_box()
    assert begin is not None
    assert end is not None
    touch = page.context.new_cdp_session(page)
    points = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2} for box in (begin, end)]
    for kind, at in (("touchStart", points[:1]), ("touchMove", points[1:]), ("touchEnd", [])):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})
