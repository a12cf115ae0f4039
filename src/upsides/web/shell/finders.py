"""Static files that are made, not kept: the theme, and the script that draws charts."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.base import ContentFile
from django.core.files.storage import InMemoryStorage, Storage

from upsides.charts import engine
from upsides.charts.theme import css

VEGA = "vega.js"


class MadeFinder(BaseFinder):
    """Finds `theme.css`, made from the tokens that charts use too, and `vega.js`, made by the drawing library."""

    def find(self, path: str, **_: Any) -> Sequence[str]:  # type: ignore[override]  # it has no file to name
        """Return nothing: what is made is not found on disk."""
        del path
        return []

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterable[tuple[str, Storage]]:
        """Yield both files for collection."""
        del ignore_patterns
        storage = InMemoryStorage()
        for name, content in (("theme.css", css()), (VEGA, _script(Path(settings.STATIC_ROOT) / VEGA))):
            storage.save(name, ContentFile(content.encode()))
            yield name, storage


def _script(collected: Path) -> str:
    """Return the script: as it was collected before by the same version of the library, else made now."""
    if collected.is_file():
        kept = collected.read_text(encoding="utf-8")
        if kept.startswith(f"{engine.stamp()}\n"):
            return kept
    return engine.script()
