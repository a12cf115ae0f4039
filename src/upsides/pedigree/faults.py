"""What cannot be right in a pedigree, each with the animals and the lines it rests on; nothing is changed here."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from upsides.pedigree.loops import find_loops, links_of
from upsides.pedigree.register import FEMALE, NOT_KNOWN, Register


class Link(NamedTuple):
    """One parent of one animal: their places, and whether it is the sire."""

    child: int
    parent: int
    as_sire: bool


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that cannot be right.

    Args:
        animals: who it is about, as printed.
        lines: the lines of the table that say so, in order.
        said: it in a sentence.
        links: the links at fault, which a repair leaves out.
        sex_of: the animal whose recorded sex a repair leaves out instead, -1 for none.
    """

    animals: tuple[str, ...]
    lines: tuple[int, ...]
    said: str
    links: tuple[Link, ...] = ()
    sex_of: int = -1


@dataclass(frozen=True, slots=True)
class Faults:
    """Everything found in one table.

    Args:
        own_parent: animals given as their own parent. They stand among the loops too, as loops of one, and where
            their year is known among the conflicts of dates.
        loops: the shortest loop of each knot.
        sex_conflicts: sires recorded as female, dams recorded as male, animals used as both.
        date_conflicts: foals not younger than a parent.
        duplicates: animals with several rows that name different parents.
        missing_parents: each naming of a parent that has no row of its own. Such a parent is taken for a founder (a
            dam for a daughter of her sire, where rows name him), which is no error; 0 in a table that leaves unknown
            parents blank is taken for unknown.
        more_loops: whether the search for loops was stopped before the last.
    """

    own_parent: tuple[Fault, ...]
    loops: tuple[Fault, ...]
    sex_conflicts: tuple[Fault, ...]
    date_conflicts: tuple[Fault, ...]
    duplicates: tuple[Fault, ...]
    missing_parents: tuple[Fault, ...]
    more_loops: bool = False

    @property
    def wrong(self) -> tuple[Fault, ...]:
        """All of them but parents without a row, each once."""
        return self.loops + self.sex_conflicts + self.date_conflicts + self.duplicates


def find_faults(register: Register) -> Faults:
    """Look through a table for everything that cannot be right."""
    found, more = find_loops(register.sire, register.dam)
    return Faults(
        own_parent=tuple(_own_parent(register, loop[0]) for loop in found if len(loop) == 1),
        loops=tuple(_loop(register, loop) for loop in sorted(found, key=len)),
        sex_conflicts=tuple(_sex_conflicts(register)),
        date_conflicts=tuple(_too_old(register, link) for link in _against_dates(register)),
        duplicates=tuple(_duplicate(register, *dispute) for dispute in register.disputed),
        missing_parents=tuple(_missing(register)),
        more_loops=more,
    )


def links(register: Register, child: int, parent: int) -> list[Link]:
    """Return the links between two animals; a parent may stand in both columns."""
    sides = ((register.sire, True), (register.dam, False))
    return [Link(child, parent, as_sire) for parents, as_sire in sides if parents[child] == parent]


def _own_parent(register: Register, animal: int) -> Fault:
    name, line = register.printed[animal], int(register.line[animal])
    at_fault = links(register, animal, animal)
    role = " and ".join("sire" if link.as_sire else "dam" for link in at_fault)
    return Fault((name,), (line,), f"{name} is given as its own {role} (line {line})", tuple(at_fault))


def _loop(register: Register, loop: list[int]) -> Fault:
    """Describe a loop; at fault are its links that go against the dates, or else all of them."""
    if len(loop) == 1:
        return _own_parent(register, loop[0])
    names = tuple(register.printed[animal] for animal in loop)
    held = [link for child, parent in links_of(loop) for link in links(register, child, parent)]
    late = [link for link in held if _is_late(register, link)]
    said = " is out of ".join((*names, names[0]))
    lines = _lines(register, loop)
    return Fault(names, lines, f"{said} ({_written(lines)})", tuple(late or held))


def _is_late(register: Register, link: Link) -> bool:
    child, parent = int(register.born[link.child]), int(register.born[link.parent])
    return bool(child and parent and child <= parent)


def _against_dates(register: Register) -> list[Link]:
    found = []
    for parents, as_sire in ((register.sire, True), (register.dam, False)):
        born = np.append(register.born, 0)
        late = (born[parents] > 0) & (register.born > 0) & (register.born <= born[parents])
        found += [Link(int(i), int(parents[i]), as_sire) for i in np.flatnonzero(late)]
    return sorted(found)


def _too_old(register: Register, link: Link) -> Fault:
    child, parent = register.printed[link.child], register.printed[link.parent]
    lines = _lines(register, [link.child, link.parent])
    said = (
        f"{child}, born {register.born[link.child]}, is not younger than its {'sire' if link.as_sire else 'dam'} "
        f"{parent}, born {register.born[link.parent]} ({_written(lines)})"
    )
    return Fault((child, parent), lines, said, (link,))


def _sex_conflicts(register: Register) -> list[Fault]:
    n = len(register.keys)
    sires, dams = (np.bincount(p[p >= 0], minlength=n) for p in (register.sire, register.dam))
    female, male = register.sex == FEMALE, (register.sex != FEMALE) & (register.sex != NOT_KNOWN)
    odd = np.flatnonzero(((sires > 0) & (dams > 0)) | (female & (sires > 0)) | (male & (dams > 0)))
    return [_sex_conflict(register, int(animal), int(sires[animal]), int(dams[animal])) for animal in odd]


def _sex_conflict(register: Register, animal: int, as_sire: int, as_dam: int) -> Fault:
    """Describe one.

    Of an animal used as sire and as dam, the use against its recorded sex is at fault, or else the rarer one, or
    both alike. Of one used one way only, its recorded sex is.
    """
    name, sex = register.printed[animal], int(register.sex[animal])
    known = {NOT_KNOWN: "of no recorded sex", FEMALE: "recorded as female"}.get(sex, "recorded as male")
    uses = [f"{role} of {count}" for role, count in (("sire", as_sire), ("dam", as_dam)) if count]
    not_sire = sex == FEMALE or (sex == NOT_KNOWN and as_sire <= as_dam)
    not_dam = sex not in (FEMALE, NOT_KNOWN) or (sex == NOT_KNOWN and as_dam <= as_sire)
    at_fault = [
        Link(int(child), animal, side)
        for parents, side, wrong in ((register.sire, True, not_sire), (register.dam, False, not_dam))
        if wrong
        for child in np.flatnonzero(parents == animal)
    ]
    lines = _lines(register, [animal, *(link.child for link in at_fault)])
    said = f"{name}, {known}, is {' and '.join(uses)} ({_written(lines)})"
    if as_sire and as_dam:
        return Fault((name,), lines, said, tuple(at_fault))
    return Fault((name,), lines, said, sex_of=animal)


def _duplicate(register: Register, animal: int, as_sire: bool, lines: tuple[int, ...]) -> Fault:  # noqa: FBT001
    name, role = register.printed[animal], "sire" if as_sire else "dam"
    parent = int((register.sire if as_sire else register.dam)[animal])
    said = f"the rows of {name} name different {role}s ({_written(lines)}); {register.printed[parent]} is taken"
    return Fault((name,), lines, said, (Link(animal, parent, as_sire),))


def _missing(register: Register) -> list[Fault]:
    """Describe each naming of a parent without a row, in the order of the lines."""
    alone = register.line == 0
    found = [(child, as_sire, "0") for child, as_sire in register.strays]
    for parents, as_sire in ((register.sire, True), (register.dam, False)):
        named = np.flatnonzero((parents >= 0) & alone[parents] & ~alone)
        found += [(int(child), as_sire, register.printed[parents[child]]) for child in named]
    return [
        Fault(
            (parent, register.printed[child]),
            (int(register.line[child]),),
            f"{parent}, {'sire' if as_sire else 'dam'} of {register.printed[child]}, has no row of its own "
            f"(line {register.line[child]})",
        )
        for child, as_sire, parent in sorted(found, key=lambda one: int(register.line[one[0]]))
    ]


def _lines(register: Register, animals: list[int]) -> tuple[int, ...]:
    return tuple(sorted({int(register.line[animal]) for animal in animals} - {0}))


def _written(lines: tuple[int, ...]) -> str:
    shown = ", ".join(str(line) for line in lines[:6])
    return f"line{'s' if len(lines) > 1 else ''} {shown}{' and more' if len(lines) > 6 else ''}"
