"""Compile every kernel once, so that the processes that test find them compiled: `python -m tools.compile`."""

import sys
from importlib import import_module
from pathlib import Path
from time import perf_counter

SOURCE = Path(__file__).resolve().parents[1] / "src"


def main() -> None:
    """Import every module that compiles when it is loaded."""
    began = perf_counter()
    found = [path for path in sorted((SOURCE / "upsides").rglob("*.py")) if "@njit(" in path.read_text("utf-8")]
    for path in found:
        import_module(".".join(path.relative_to(SOURCE).with_suffix("").parts))
    sys.stdout.write(f"{len(found)} modules with compiled code stand ready after {perf_counter() - began:.0f} s.\n")


if __name__ == "__main__":
    main()
