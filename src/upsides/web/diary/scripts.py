"""The diary's scripts.

They import one another by relative names, so all of one version lie at addresses of that version: a phone never runs a
mixture of an old one and a new one.
"""

from hashlib import sha256
from pathlib import Path
from typing import Final

from django.urls import reverse

_FOLDER: Final = Path(__file__).parent / "scripts"

SCRIPTS: Final = {file.stem: file.read_bytes() for file in sorted(_FOLDER.glob("*.js"))}
"""The scripts by name."""

VERSION: Final = sha256(b"\0".join(SCRIPTS.values())).hexdigest()[:12]


def address(name: str) -> str:
    """Return where a script lies."""
    return reverse("diary_script", args=[VERSION, name])
