"""What holds for every page that links lead to, whoever looks at it."""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from zlib import crc32

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, StorageState

import walking
import worlds
from accessibility import Asked, faults, too_wide
from fresh import kept

pytestmark = pytest.mark.browser

Look = tuple[str, str, Asked]

LOOKS: tuple[Look, ...] = (
    ("phone", "light", "everything"),
    ("phone", "dark", "contrast"),
    ("desktop", "light", "all but contrast"),
)
"""Sizes, schemes and what is asked of them: colours do not depend on the size, nor the rest on the scheme."""

NARROWEST = (320, 640)
"""A desk's page at four times its size, as WCAG 2.2 has it in 1.4.10."""

PRESSED = "button, .button, .places a, select, input:not([type=checkbox], [type=radio], [type=hidden])"
PARTS = 4
"""In how many tests the trainer's pages are looked at, so that several processes share them."""
AS_OF = "as_of=2026-06-01T17:30"
OF_THE_TRAINER = {
    "string",
    "horse",
    "race",
    "diary",
    "checks",
    "clock",
    "people",
    "person",
    "me",
    "jobs",
    "horse_trip",
    "horse_pedigree",
    "shape",
    "sales",
    "sale",
    "lot",
    "mfa_index",
    "usersessions_list",
}
NUMBERED = re.compile(r"/\d+/")
UNLIKE = {"string", "horse", "race", "diary", "checks", "me"}
"""Pages that others see otherwise than the trainer does."""

Found = dict[str, str]


@pytest.fixture(scope="session")
def links(browser: Browser, state_of: Callable[[str], StorageState | None], address: str) -> Callable[[str], Found]:
    """Follow every link that somebody sees, one address for each kind of page; once, whichever process asks."""

    @cache
    def followed(role: str) -> Found:
        with kept("links", f"{worlds.digest('.')}{crc32(Path(walking.__file__).read_bytes()):08x}") as place:
            place.mkdir(exist_ok=True)
            file = place / f"{role or 'nobody'}.json"
            if not file.exists():
                file.write_text(json.dumps(follow(role)))
            found: Found = json.loads(file.read_text())
        return in_this_yard(found, role)

    @contextmanager
    def reading(role: str) -> Iterator[walking.Get]:
        context = browser.new_context(base_url=address, storage_state=state_of(role))

        def get(path: str) -> str | None:
            answer = context.request.get(path)
            return answer.text() if answer.ok and answer.headers["content-type"].startswith("text/html") else None

        yield get
        context.close()

    def follow(role: str) -> Found:
        with reading(role) as get:
            return walking.walk(get, reverse("string") if role else reverse("account_login"))

    def in_this_yard(found: Found, role: str) -> Found:
        """Return addresses that the yard of this process has: what tests made in another's yard is not in it."""
        with reading(role) as get:
            missing = {name for name, path in found.items() if NUMBERED.search(path) and get(path) is None}
        own = follow(role) if missing else {}
        return {name: own.get(name, path) for name, path in found.items() if name not in missing or name in own}

    return followed


def too_small(page: Page) -> list[str]:
    """Return what is pressed and is lower than a thumb needs."""
    script = """all => all.filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 44)
        .map(e => e.outerHTML)"""
    return [f"too small: {html}" for html in page.locator(PRESSED).evaluate_all(script)]


def wrong_with(page: Page, sizes: dict[str, tuple[int, int]], looks: Sequence[Look]) -> list[str]:
    """Return what a page has against it, in several looks."""
    found = [] if page.locator("h1").count() == 1 else ["it has not one first heading"]
    for width, height in (NARROWEST, *sizes.values()):
        page.set_viewport_size({"width": width, "height": height})
        found += [f"{width} px: {by} px too wide"] if (by := too_wide(page)) else []
        for scheme, asked in [look[1:] for look in looks if sizes[look[0]] == (width, height)]:
            page.emulate_media(color_scheme=scheme)
            thumbs = too_small(page) if (width, asked) == (sizes["phone"][0], "everything") else []
            found += [f"{width} px, {scheme}: {what}" for what in (*faults(page, asked), *thumbs)]
    return found


EACH = [(role, 0, 1) for role in ("", "owner", "rider")] + [("trainer", part, PARTS) for part in range(PARTS)]


@pytest.mark.parametrize(("role", "part", "parts"), EACH)
def test_every_page_is_fit_to_be_used(
    role: str,
    part: int,
    parts: int,
    open_as: Callable[..., Page],
    links: Callable[[str], Found],
    sizes: dict[str, tuple[int, int]],
    keep: Callable[[Page, str], None],
    subtests: pytest.Subtests,
) -> None:
    """No page breaks a rule of the accessibility engine (WCAG A, AA), scrolls sideways, with its folded parts open
    too, or asks for small fingers."""
    found = links(role)
    if role == "trainer":
        assert found.keys() >= OF_THE_TRAINER
        found = found | {f"{name} as it stood": f"{found[name]}?{AS_OF}" for name in ("horse", "people", "diary")}
    if role in {"owner", "rider"}:
        found = {name: path for name, path in found.items() if name in UNLIKE}
    page = open_as(role)
    mine = {name: path for name, path in found.items() if crc32(name.encode()) % parts == part}
    for name, path in mine.items():
        with subtests.test(name):
            page.goto(path)
            wrong = wrong_with(page, sizes, LOOKS if role in {"trainer", ""} else LOOKS[:1])
            if wrong:
                keep(page, f"{role}-{name}")
            assert wrong == []
