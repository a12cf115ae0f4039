"""One real yard a session, built and served by the program's own commands, and browsers signed in to it."""

import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page, Request, StorageState, sync_playwright
from xdist.scheduler import LoadFileScheduling

from fresh import demo, fresh
from upsides.planning.prices import SHIPPED

SCREENSHOTS = Path(__file__).parents[2] / "build" / "screenshots"
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE_MS = 60_000
"""How long a page is waited for on a machine that is busy."""
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}
COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()"]

OpenAs = Callable[..., Page]


class ByFile(LoadFileScheduling):
    """A file's tests stay together, so that what they share is made once, but for those of every page."""

    def _split_scope(self, nodeid: str) -> str:
        file = super()._split_scope(nodeid)
        return nodeid if Path(file).stem == "test_every_page" else file


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByFile:
    """Say which process gets which tests."""
    return ByFile(config, log)


@contextmanager
def served(folder: Path, env: dict[str, str]) -> Iterator[str]:
    """Serve a yard in its own processes; gives the address that the command prints."""
    command = [*COMMAND, "serve", "--library", str(folder), "--port", "0"]
    said = ""
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            for line in process.stdout:
                said += line
                if found := re.search(r"https?://[^/\s]+(?=/)", line):
                    break
            else:
                raise AssertionError(said)
            yield found.group(0)
        finally:
            process.send_signal(signal.SIGINT)
            try:
                process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                process.kill()


@pytest.fixture(scope="session")
def sizes() -> dict[str, tuple[int, int]]:
    """Width and height of the screens looked at, CSS px."""
    return SIZES


@pytest.fixture(scope="session")
def keep() -> Callable[[Page, str], None]:
    """Keep a picture of a page under a name."""

    def kept(page: Page, name: str) -> None:
        SCREENSHOTS.mkdir(parents=True, exist_ok=True)
        plain = "".join(letter if letter.isalnum() else "-" for letter in name)
        page.screenshot(path=SCREENSHOTS / f"{plain}.png", full_page=True)

    return kept


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The invented yard's pages at a local address."""
    folder = tmp_path_factory.mktemp("browser") / "yard"
    with fresh(folder, ready=True) as env:
        demo(folder, env)
        shipped = SHIPPED.read_text(encoding="utf-8")  # whatever the hour, no lot has gone by the clock
        (folder / "lots.toml").write_text(shipped.replace("grace = 20", "grace = 1440"), encoding="utf-8")
        with served(folder, env) as at:
            yield at


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def state_of(browser: Browser, address: str) -> Callable[[str], StorageState | None]:
    """What a browser keeps once somebody with a role has come in by the sign-in page; once a role."""
    known: dict[str, StorageState] = {}

    def state(role: str) -> StorageState | None:
        if role and role not in known:
            context = browser.new_context(base_url=address)
            page = context.new_page()
            page.goto(reverse("account_login"))
            page.locator(f"form:has(input[name=role][value={role}]) button").click()
            page.wait_for_url(re.compile(re.escape(address) + "/(string/)?$"))
            known[role] = context.storage_state()
            context.close()
        return known.get(role)

    return state


@pytest.fixture
def open_as(
    browser: Browser,
    address: str,
    state_of: Callable[[str], StorageState | None],
    keep: Callable[[Page, str], None],
    request: pytest.FixtureRequest,
) -> Iterator[OpenAs]:
    """Open a page as somebody with a role ("" for nobody).

    What goes wrong on any of them fails the test, unless it was `expected`: a pattern of what is said then.
    """
    contexts: list[BrowserContext] = []
    pages: list[Page] = []
    troubles: list[str] = []

    def opened(role: str, size: str = "desktop", scheme: Any = "light", *, expected: str = "", **more: Any) -> Page:
        width, height = SIZES[size]
        context = browser.new_context(
            base_url=address,
            viewport={"width": width, "height": height},
            color_scheme=scheme,
            storage_state=state_of(role),
            reduced_motion="reduce",
            **more,
        )
        contexts.append(context)
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        watch(page, troubles, expected)
        pages.append(page)
        return page

    def keep_all() -> None:
        for place, page in enumerate(pages):
            keep(page, f"{request.node.name}-{place}")

    request.node.stash[SHOWN] = keep_all
    yield opened
    for context in contexts:
        context.close()
    assert troubles == []


def lost(asked: Request) -> bool:
    """Return whether something could not be had; what a page was asking for when it was left is not lost."""
    return asked.failure != "net::ERR_ABORTED"


def watch(page: Page, troubles: list[str], expected: str) -> None:
    """Note what goes wrong on a page: anything the browser complains of, and whatever it could not load."""

    def note(what: str) -> None:
        if not (expected and re.search(expected, what)):
            troubles.append(f"{page.url}: {what}")

    page.on("console", lambda said: note(said.text) if said.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: note(str(error)))
    page.on("requestfailed", lambda asked: note(f"not loaded: {asked.url}, {asked.failure}") if lost(asked) else None)
    page.on("response", lambda came: note(f"{came.url} answered {came.status}") if came.status >= 500 else None)


SHOWN: pytest.StashKey[Callable[[], None]] = pytest.StashKey()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Any:
    """Keep pictures of a test's pages when it fails."""
    report = yield
    if report.when == "call" and report.failed and SHOWN in item.stash:
        item.stash[SHOWN]()
    return report
