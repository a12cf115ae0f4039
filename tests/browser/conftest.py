import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

import worlds

YARD = worlds.yard()  # opens the books, so that models can be imported

from upsides.books.queries import levels  # noqa: E402  (settings must stand first)
from upsides.books.queries.results import keyed  # noqa: E402  (the same)
from upsides.books.services.string import load_string  # noqa: E402  (the same)
from upsides.web.wsgi import application  # noqa: E402  (the same)

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
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}


class Quiet(WSGIRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


class Threaded(ThreadingMixIn, WSGIServer):
    daemon_threads = True


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """The invented yard's pages at a local address."""
    load_string(keyed(YARD.library, YARD.world.string), YARD.world.today)
    with (
        pytest.MonkeyPatch.context() as patch,
        make_server("127.0.0.1", 0, application, server_class=Threaded, handler_class=Quiet) as server,
    ):
        patch.setattr(levels, "read_levels", lambda _: YARD.levels)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


@pytest.fixture(scope="session")
def browser(address: str) -> Iterator[Browser]:  # the server first: Django refuses to write once this runs
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(params=list(SIZES))
def size(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=["light", "dark"])
def scheme(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def context(browser: Browser, size: str, scheme: Any) -> Iterator[BrowserContext]:
    width, height = SIZES[size]
    opened = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    yield opened
    opened.close()


@pytest.fixture
def page(context: BrowserContext, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page on which any console error, failed request or uncaught error fails the test."""
    opened = context.new_page()
    request.node.stash[SHOWN] = opened
    troubles = watch(opened)
    yield opened
    assert not troubles


@pytest.fixture
def open_page(browser: Browser, size: str, scheme: Any, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page without the strict policy, for the accessibility engine, which works by injecting a script."""
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, bypass_csp=True)
    opened = context.new_page()
    request.node.stash[SHOWN] = opened
    yield opened
    context.close()


def watch(page: Page) -> list[str]:
    """Return a list that fills with what goes wrong on a page."""
    troubles: list[str] = []
    page.on("console", lambda said: troubles.append(said.text) if said.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("requestfailed", lambda asked: troubles.append(f"failed: {asked.url}"))
    return troubles


SHOWN = pytest.StashKey[Page]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Any:
    """Keep a picture of the page when a test fails."""
    report = yield
    page = item.stash.get(SHOWN, None)
    if report.when == "call" and report.failed and page is not None:
        SCREENSHOTS.mkdir(parents=True, exist_ok=True)
        name = "".join(letter if letter.isalnum() else "-" for letter in item.name)
        page.screenshot(path=SCREENSHOTS / f"{name}.png", full_page=True)
    return report
