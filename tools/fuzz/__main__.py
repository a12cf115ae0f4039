"""Feed the readers of recordings with bytes that nobody would write, guided by what of the code they reach.

    python -m tools.fuzz fit --seconds 120
    python -m tools.fuzz --all
    python -m tools.fuzz --all --in-all 3600

Anything but recordings or a refusal in words is a failure: the bytes are written beside the corpus, the status is 1.
The corpus is kept in build/fuzz, and beside it how long each reader has been fuzzed, so that the next run goes on where
this one ended: with `--in-all` readers take turns until together they have had so many seconds, those of earlier runs
counted.
"""

import argparse
import re
import subprocess
import sys
from importlib.util import find_spec
from math import ceil
from pathlib import Path
from time import monotonic

from tools.fuzz.readers import READERS, reader
from tools.fuzz.seeds import seeds

LONGEST_BYTES, SLOWEST_S, MOST_MB = 1 << 14, 20, 2048
"""Bytes of an input, seconds that reading it may take, and memory of the whole process."""
SPENT = "spent.txt"
"""The file with the seconds of each run, a line a run."""


def main() -> int:
    """Run, print what was tried, and return 1 where a reader broke."""
    asks = argparse.ArgumentParser(prog="python -m tools.fuzz", description=__doc__.splitlines()[0])
    asks.add_argument("reader", nargs="?", choices=READERS)
    asks.add_argument("--all", action="store_true", help="every reader, one after the other")
    asks.add_argument("--seconds", type=int, default=120, help="for each reader, or for each turn of it")
    asks.add_argument("--in-all", type=int, help="seconds of all turns together, those of earlier runs counted")
    asks.add_argument("--corpus", type=Path, default=Path("build/fuzz"), help="folder in which corpora are kept")
    said = asks.parse_args()
    if not said.all and not said.reader:
        asks.error("name a reader, or say --all")
    if find_spec("atheris") is None:
        print(f"skipped: atheris is not installed for Python {sys.version_info.major}.{sys.version_info.minor}")
        return 0
    asked = list(READERS) if said.all else [said.reader]
    if said.in_all is None:
        return max(fuzz(name, said.seconds, said.corpus / name) for name in asked)
    return in_turn(asked, said.seconds, said.in_all / len(asked), said.corpus)


def in_turn(names: list[str], seconds: int, each_s: float, corpus: Path) -> int:
    """Fuzz readers in turn until each has had its seconds, those of earlier runs counted; 1 where one broke.

    One that broke gets no further turn: it would break on the same bytes.
    """
    left = list(names)
    broke = 0
    while left := [name for name in left if spent(corpus / name) < each_s]:
        for name in tuple(left):
            turn = min(seconds, ceil(each_s - spent(corpus / name)))
            if fuzz(name, turn, corpus / name):
                broke = 1
                left.remove(name)
    print(f"{sum(spent(corpus / name) for name in names) / 60:.0f} minutes in all")
    return broke


def spent(folder: Path) -> float:
    """Return for how many seconds a reader has been fuzzed by all runs that kept their corpus here."""
    kept = folder / SPENT
    return sum(float(line) for line in kept.read_text().split()) if kept.exists() else 0.0


def fuzz(name: str, seconds: int, folder: Path) -> int:
    """Fuzz one reader, print a line, and return 1 where it broke."""
    corpus, broken = folder / "corpus", folder / "broken"
    for place in (corpus, broken):
        place.mkdir(parents=True, exist_ok=True)
    try:
        reader(name)
    except (ImportError, AttributeError) as missing:
        print(f"{name}: skipped: there is no such reader ({missing})")
        return 0
    for number, seed in enumerate(seeds(name)):
        (corpus / f"seed{number:03}").write_bytes(seed)
    before, began = set(broken.iterdir()), monotonic()
    log = folder / "log.txt"
    asked = [
        f"-max_total_time={seconds}",
        f"-max_len={LONGEST_BYTES}",
        f"-timeout={SLOWEST_S}",
        f"-rss_limit_mb={MOST_MB}",
        f"-artifact_prefix={broken}/",
        "-print_final_stats=1",
        "-reload=0",
        str(corpus),
    ]
    with log.open("wb") as said:
        command = [sys.executable, "-m", "tools.fuzz.target", name, *asked]
        status = subprocess.run(command, stdout=said, stderr=said, check=False).returncode  # noqa: S603 (our own)
    took = monotonic() - began
    with (folder / SPENT).open("a") as kept:
        kept.write(f"{took:.0f}\n")
    return _tell(name, status, log, corpus, set(broken.iterdir()) - before, took)


def _tell(name: str, status: int, log: Path, corpus: Path, found: set[Path], took: float) -> int:
    said = log.read_text(errors="replace")
    runs = re.search(r"stat::number_of_executed_units:\s*(\d+)", said)
    kept = len(list(corpus.iterdir()))
    tried = f"{int(runs[1]):,}" if runs else "an unknown number of"
    print(f"{name}: {tried} inputs tried, {kept:,} kept, {took:.0f} s, {'broken' if status else 'nothing broke'}")
    for place in sorted(found):
        print(f"  {place}")
    if status:
        print("\n".join(f"  {line}" for line in said.splitlines() if "===" not in line and "#" not in line)[-3000:])
    return int(status != 0)


if __name__ == "__main__":
    sys.exit(main())
