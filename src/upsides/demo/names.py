"""Invented names for horses, people and races, put together from our own word lists (`words.toml`).

The lists are chosen so that none of their combinations meets a name in the real results and pedigrees that
the project is tried on; `tests/demo/test_names.py` checks the whole of them where that data is at hand.
"""

import re
import tomllib
from importlib.resources import files

import numpy as np

LONGEST = 18
"""Most characters in a racehorse's name, spaces included (common practice, no source)."""

_WORDS = tomllib.loads(files("upsides.demo").joinpath("words.toml").read_text("utf-8"))


def _words(kind: str) -> list[str]:
    return str(_WORDS[kind]).split()


def every_horse_name() -> list[str]:
    """Return every horse name that the word lists can make, in a fixed order."""
    setting, matter = _words("setting"), _words("matter")
    pairs = [f"{first} {second}" for first in setting for second in matter]
    turns = [turn.format(word) for turn in _WORDS["turns"] for word in (*setting, *matter)]
    return [name for name in (*pairs, *turns) if len(name) <= LONGEST]


def horse_names(rng: np.random.Generator, count: int) -> list[str]:
    """Draw `count` different horse names.

    Args:
        rng: source of chance.
        count: how many.

    Returns:
        Names without repetition.
    """
    names = every_horse_name()
    return [names[i] for i in rng.choice(len(names), size=count, replace=False)]


def every_surname() -> list[str]:
    """Return every surname that the word lists can make, in a fixed order."""
    heads, tails = _words("surname_head"), _words("surname_tail")
    return [re.sub(r"(.)\1\1", r"\1\1", head + tail) for head in heads for tail in tails]


def person_names(rng: np.random.Generator, count: int) -> list[str]:
    """Draw `count` different names of people, initial and surname, every surname different.

    Args:
        rng: source of chance.
        count: how many, at most 384.

    Returns:
        Names such as "E. Corvelgarth".
    """
    surnames = every_surname()
    chosen = rng.choice(len(surnames), size=count, replace=False)
    initials = rng.choice(_words("initial"), size=count)
    return [f"{initial}. {surnames[i]}" for initial, i in zip(initials, chosen, strict=True)]


def race_name(rng: np.random.Generator) -> str:
    """Draw the leading word of a race's title."""
    words = _words("race")
    return words[int(rng.integers(len(words)))]


def sentences(kind: str) -> list[str]:
    """Return the sentences of the diary, `notes` or `warm_notes`, or of what is seen at a sale."""
    return [str(sentence) for sentence in _WORDS[kind]]
