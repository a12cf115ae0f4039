"""What a browser calls itself, in words that its owner knows the thing by."""

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
"""Marks and names, the telling ones first: nearly all browsers call themselves Safari too."""

DEVICES: tuple[tuple[tuple[str, ...], Promise], ...] = (
    (("iPhone",), gettext_lazy("an iPhone")),
    (("iPad",), gettext_lazy("an iPad")),
    (("Android", "Mobile"), gettext_lazy("an Android phone")),
    (("Android",), gettext_lazy("an Android tablet")),
    (("Macintosh", "Version/"), gettext_lazy("a Mac or an iPad")),  # an iPad says that it is a Mac
    (("Macintosh",), gettext_lazy("a Mac")),
    (("Windows",), gettext_lazy("a Windows computer")),
    (("CrOS",), gettext_lazy("a Chromebook")),
    (("Linux",), gettext_lazy("a Linux computer")),
)
"""All marks of a kind must be there; the first kind that fits counts."""


def described(user_agent: str) -> str:
    """Return a browser and the thing it is on, e.g. "Firefox on an Android phone"."""
    browser = next((name for mark, name in BROWSERS if mark in user_agent), "")
    device = next((words for marks, words in DEVICES if all(mark in user_agent for mark in marks)), "")
    if browser and device:
        return _("%(browser)s on %(device)s") % {"browser": browser, "device": device}
    if browser or device:
        return browser or str(device)
    return _("Something that does not say what it is")
