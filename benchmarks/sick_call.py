"""Somebody calls in sick: seconds on the clock from the tap on the phone to the new plan on its screen.

A copy of the invented yard is served by `upsides serve` with its workers, and Chromium at a phone's width taps *Plan
without* on the lists of riders one after the other; the first tap comes soon after the start. A network is left out,
and so is a phone's own processor. UPSIDES_DEMO may name a folder in which a demo yard has been built.
"""

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from upsides.planning.prices import SHIPPED

TAPS = 8
TARGET_S = 2.0
AFTER_START_S = 8.0
PATIENCE_MS = 60_000
PHONE = (390, 844)
COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()"]


def run() -> None:
    """Build or copy the invented yard, serve it, and print the seconds of every tap."""
    with tempfile.TemporaryDirectory() as folder:
        yard = Path(folder) / "yard"
        env = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
        env["UPSIDES_LIBRARY"] = str(yard)
        built = os.environ.get("UPSIDES_DEMO")
        if built:
            shutil.copytree(built, yard)
        else:
            subprocess.run([*COMMAND, "demo", "--library", str(yard)], env=env, check=True, stdout=subprocess.DEVNULL)
        shipped = SHIPPED.read_text(encoding="utf-8")  # whatever the hour, no lot has gone by the clock
        (yard / "lots.toml").write_text(shipped.replace("grace = 20", "grace = 1440"), encoding="utf-8")
        with _served(yard, env) as address:
            time.sleep(AFTER_START_S)
            _print(list(_taps(address)))


@contextmanager
def _served(yard: Path, env: dict[str, str]) -> Iterator[str]:
    """Serve a yard in its own processes; give the address that the command prints."""
    command = [*COMMAND, "serve", "--library", str(yard), "--port", "0"]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            said = (re.search(r"https?://[^/\s]+(?=/)", line) for line in process.stdout or ())
            yield next(found.group(0) for found in said if found)
        finally:
            process.terminate()


def _taps(address: str) -> Iterator[tuple[str, float]]:
    """Yield the rider of every tap, and the seconds until the plan without stands there."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = shutil.which("chromium") or "/usr/bin/chromium"
        browser = playwright.chromium.launch(executable_path=chromium, args=["--headless", "--no-sandbox"])
        width, height = PHONE
        page = browser.new_context(base_url=address, viewport={"width": width, "height": height}).new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.goto("/account/login/")
        page.locator("form:has(input[name=role][value=trainer]) button").click()
        page.wait_for_url(re.compile(re.escape(address) + "/(string/)?$"))
        page.goto("/lots/own/")
        there = page.locator("ul.riders a").evaluate_all("links => links.map(one => [one.href, one.innerText])")
        for link, name in there[:TAPS]:
            yield name, _tap(page, link)
        browser.close()


def _tap(page: Any, link: str) -> float:
    """Return the seconds from the tap on a rider's list to the plan without that rider."""
    page.goto(link)
    button = page.locator("form[action*='plan/ask'] button")
    button.scroll_into_view_if_needed()
    begun = time.perf_counter()
    button.click(no_wait_after=True)
    page.wait_for_selector("#now:not([hx-get]) section.lot", state="attached")
    return time.perf_counter() - begun


def _print(taps: list[tuple[str, float]]) -> None:
    for name, seconds in taps:
        print(f"{seconds:6.2f} s  without {name}")
    every = [seconds for _name, seconds in taps]
    print(f"median {statistics.median(every):.2f} s, first {every[0]:.2f} s, longest {max(every):.2f} s; "
          f"to be under {TARGET_S:g} s; load of the machine {os.getloadavg()[0]:.1f}")  # fmt: skip
