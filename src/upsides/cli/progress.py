"""Progress with time left: a line that rewrites itself on a terminal, a line now and then elsewhere."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic

import click

EVERY_S = 5.0


class Shown:
    """Tells on standard error how far a piece of work is; called with the share done and what is being done."""

    def __init__(self) -> None:
        self.began = monotonic()
        self.told = 0.0
        self.terminal = sys.stderr.isatty()
        self.width = 0

    def __call__(self, done: float, what: str) -> None:
        """Tell, unless it was told a moment ago."""
        now = monotonic()
        self.say(f"{100 * done:3.0f} %  {what}{self._left(done, now)}", now, last=done >= 1.0)

    def say(self, text: str, now: float | None = None, *, last: bool = False) -> None:
        """Tell something of which no share is known, unless something was told a moment ago."""
        now = monotonic() if now is None else now
        if now - self.told < (0.1 if self.terminal else EVERY_S) and not last:
            return
        self.told = now
        if self.terminal:
            click.echo(f"\r{text:<{self.width}}", nl=False, err=True)
            self.width = len(text)
        else:
            click.echo(text, err=True)

    def _left(self, done: float, now: float) -> str:
        if not 0.03 < done < 1.0:
            return ""
        seconds = (now - self.began) * (1.0 - done) / done
        return f", about {seconds:.0f} s left" if seconds < 90 else f", about {seconds / 60:.0f} min left"

    def end(self) -> None:
        """Leave the line for whatever is printed next."""
        if self.terminal and self.width:
            click.echo("", err=True)


@contextmanager
def shown() -> Iterator[Shown]:
    """Give a progress line for the length of a block."""
    line = Shown()
    try:
        yield line
    finally:
        line.end()
