"""Following the links of pages, for tests that hold for every page there is."""

import re
from collections.abc import Callable
from html import unescape
from urllib.parse import urlsplit

from django.urls import Resolver404, resolve

LINK = re.compile(r'<a\s[^>]*?href="(/[^"#]*)')

Get = Callable[[str], str | None]
"""Gives the page at an address, None where there is no page to read."""


def name_of(path: str) -> str | None:
    """Return the name of the page at an address, None where there is none."""
    try:
        return resolve(urlsplit(path).path).url_name
    except Resolver404:
        return None


def walk(get: Get, start: str) -> dict[str, str]:
    """Return one address for each kind of page that links lead to from a first one."""
    found: dict[str, str] = {}
    seen: set[str] = set()
    waiting = [start]
    while waiting:
        path = waiting.pop(0)
        name = name_of(path)
        if name is None or name in seen:
            continue
        seen.add(name)
        page = get(path)
        if page is not None:
            found[name] = path
            waiting += [unescape(link).split("?")[0] for link in LINK.findall(page)]
    return found
