"""The theme as a static file."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.base import ContentFile
from django.core.files.storage import InMemoryStorage, Storage

from upsides.charts.theme import css


class ThemeFinder(BaseFinder):
    """Finds `theme.css`, made from the tokens that charts use too."""

    def __init__(self) -> None:
        self.storage = InMemoryStorage()
        self.storage.save("theme.css", ContentFile(css().encode()))

    def find(self, path: str, **_: Any) -> Sequence[str]:  # type: ignore[override]  # it has no file to name
        """Return nothing: the style sheet is made, not found on disk."""
        del path
        return []

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterable[tuple[str, Storage]]:
        """Yield the style sheet for collection."""
        del ignore_patterns
        yield "theme.css", self.storage
