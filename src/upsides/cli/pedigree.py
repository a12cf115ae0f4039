"""`upsides pedigree`: one animal's pedigree in figures, and what cannot be right in a table of pedigrees."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from upsides.cli.options import answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.pedigree import About, Cut, Faults, Pedigree, Read, Table

Command = TypeVar("Command", bound=Callable[..., Any])
COLUMNS = ("animal", "sire", "dam", "sex", "born", "name", "dam_sire")
SHOWN = 12
"""Faults of a kind printed; --json gives all."""
MOST_GENERATIONS = 10
TITLES = {
    "loops": "Animals that are their own ancestors",
    "sex_conflicts": "Sexes that do not agree with the use",
    "date_conflicts": "Not younger than a parent",
    "duplicates": "Rows that say different things of one animal",
}


class _AnimalFirst(click.Group):
    """A group whose first word is an animal unless it is one of its commands."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the command in that is meant by an animal's name alone."""
        if args and args[0] not in self.commands and args[0] != "--help":
            args = ["show", *args]
        return super().parse_args(ctx, args)


def table_options(command: Command) -> Command:
    """Add `--animal`, `--sire` and so on, which say what column holds what, and `--encoding`."""
    for name in reversed(COLUMNS):
        option, help_ = f"--{name.replace('_', '-')}", f"Header of the column {name.replace('_', ' ')}."
        command = click.option(option, default="", metavar="COLUMN", help=help_)(command)
    return click.option("--encoding", default="utf-8", show_default=True, help="Encoding of a text file.")(command)


@click.group(cls=_AnimalFirst, options_metavar="", subcommand_metavar="ANIMAL | check FILE")
def pedigree() -> None:
    """Say how inbred ANIMAL is and which ancestors it has twice; or check a whole table."""


@pedigree.command()
@click.argument("animal_", metavar="ANIMAL")
@click.option("--pedigree", "file", type=click.Path(path_type=Path), help="Table to read; else the library's horses.")
@click.option(
    "--generations", type=click.IntRange(1, MOST_GENERATIONS), default=5, show_default=True, help="How far back."
)
@click.option("--repair", is_flag=True, help="Leave links out that cannot be right, and say which.")
@table_options
@library_option
@json_option
def show(
    animal_: str, file: Path | None, generations: int, repair: bool, encoding: str, library: Path, as_json: bool,  # noqa: FBT001 -- options
    **columns: str,
) -> None:  # fmt: skip
    """Say how inbred ANIMAL is, how much of its pedigree is known, and which ancestors stand in it twice."""
    from upsides.pedigree import about, pedigree_of

    table = _table(file, columns, encoding, library)
    read = pedigree_of(table, repair=repair)
    place = read.pedigree.place(animal_) if file else _in_library(library, read.pedigree, animal_)
    told = about(read.pedigree, place, generations)
    answer(as_json, _as_json(read, told), _as_lines(read, told))


@pedigree.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@table_options
@library_option
@json_option
def check(file: Path | None, encoding: str, library: Path, as_json: bool, **columns: str) -> None:  # noqa: FBT001 -- an option
    """Look through the table FILE, or the library's horses, for what cannot be right; nothing is changed."""
    from upsides.pedigree import find_faults, register_of

    table = _table(file, columns, encoding, library)
    register = register_of(table)
    faults = find_faults(register)
    kinds = _kinds(faults)
    value: dict[str, Any] = {
        "file": str(file or library),
        "rows": register.rows,
        "animals": len(register.keys),
        "columns": {name: getattr(table.columns, name) or None for name in COLUMNS},
        "joined": register.joined,
        "repeated": len(register.repeated),
        "counts": {kind: len(found) for kind, found in kinds.items()},
        "more_loops": faults.more_loops,
        **{kind: [_fault(fault) for fault in found] for kind, found in kinds.items()},
        "unreadable": [{"line": fault.line, "reason": fault.reason, "kept": fault.kept} for fault in table.faults],
    }
    answer(as_json, value, _check_lines(value, faults))


def _table(file: Path | None, columns: dict[str, str], encoding: str, library: Path) -> "Table":
    from upsides.pedigree import Columns, read_table, table_of
    from upsides.results.library import Library

    if file is None:
        return table_of(Library.open(library))
    return read_table(file, Columns(**columns), encoding=encoding)


def _in_library(library: Path, pedigree: "Pedigree", text: str) -> int:
    """Find a horse as the library does, and where it has none, among the parents that it names."""
    from upsides.errors import HorseUnknownError
    from upsides.results.identity import find
    from upsides.results.library import Library

    try:
        return pedigree.place(find(Library.open(library), text).key)
    except HorseUnknownError:
        return pedigree.place(text)


def _as_json(read: "Read", told: "About") -> dict[str, Any]:
    animals, graph = read.pedigree, read.pedigree.graph
    sire, dam = int(graph.sire[told.animal]), int(graph.dam[told.animal])
    sexes = (None, "male", "female", "gelding")
    return {
        "animal": animals.printed[told.animal],
        "key": animals.keys[told.animal],
        "line": int(animals.line[told.animal]) or None,
        "sex": sexes[int(animals.sex[told.animal])],
        "born": int(animals.born[told.animal]) or None,
        "sire": animals.printed[sire] if sire >= 0 else None,
        "dam": animals.printed[dam] if dam >= 0 else None,
        "f": told.f,
        "depth": int(told.depth.longest[0]),
        "full_generations": int(told.depth.full[0]),
        "equivalent_generations": float(told.depth.equivalent[0]),
        "completeness": [float(share) for share in told.completeness],
        "duplicates": [
            {
                "animal": animals.printed[one.animal],
                "notation": one.notation,
                "lettered": one.lettered,
                "places": [str(line) for line in one.lines],
                "f": one.f,
            }
            for one in told.duplicates
        ],
        "ancestors": told.ancestors,
        "progeny": told.progeny,
        "founders": [{"animal": animals.printed[one.animal], "share": one.share} for one in told.founders],
        "unknown_share": told.unknown,
        "animals": graph.size,
        "rows": read.register.rows,
        "faults": {kind: len(found) for kind, found in _kinds(read.faults).items()},
        "cuts": [cut._asdict() for cut in read.cuts],
    }


def _as_lines(read: "Read", told: "About") -> list[str]:
    value = _as_json(read, told)
    known = ", ".join(f"{share:.0%}" for share in value["completeness"])
    lines = [
        f"{value['animal']}, by {value['sire'] or 'an unknown sire'} out of {value['dam'] or 'an unknown dam'}: "
        f"inbreeding {told.f:.2%} from {told.ancestors} known ancestors.",
        f"Its longest line goes back {_generations(value['depth'])}; {_generations(value['full_generations'])} without "
        f"a gap, worth {value['equivalent_generations']:.1f} full ones. Ancestors known, parents first: {known}.",
    ]
    within = f"within {len(value['completeness'])} generations"
    if told.duplicates:
        lines.append(f"In it more than once {within}, each with what it adds to the inbreeding:")
        lines += [f"  {one['animal']:<30} {one['lettered']:<24} {one['f']:.2%}" for one in value["duplicates"]]
    else:
        lines.append(f"No ancestor stands in it more than once {within}.")
    if read.cuts:
        lines += ["Left out of the table, as it cannot be right:", *_cut_lines(read.cuts)]
    return lines


def _generations(count: int) -> str:
    return "one generation" if count == 1 else f"{count} generations"


def _cut_lines(cuts: tuple["Cut", ...]) -> list[str]:
    told = [
        f"  {f'{cut.parent} as {cut.role}' if cut.parent else 'the recorded sex'} of {cut.animal}: {cut.reason}"
        for cut in cuts
    ]
    more = len(told) - SHOWN
    return [*told[:SHOWN], f"  and {more} more; --json gives them all"] if more > 0 else told


def _kinds(faults: "Faults") -> dict[str, Any]:
    kinds = ("loops", "own_parent", "sex_conflicts", "date_conflicts", "duplicates", "missing_parents")
    return {kind: getattr(faults, kind) for kind in kinds}


def _fault(fault: Any) -> dict[str, Any]:
    return {"animals": list(fault.animals), "lines": list(fault.lines), "said": fault.said}


def _check_lines(value: dict[str, Any], faults: "Faults") -> list[str]:
    wrong = len(faults.wrong)
    found = {0: "nothing that cannot be right", 1: "one thing that cannot be right"}.get(
        wrong, f"{wrong} things that cannot be right"
    )
    lines = [f"{value['file']}: {value['rows']} rows, {value['animals']} animals, {found}."]
    for kind, title in TITLES.items():
        told = [fault["said"] for fault in value[kind]]
        lines += [f"{title}: {len(told)}", *(f"  {said}" for said in told[:SHOWN])] if told else []
        lines += [f"  and {len(told) - SHOWN} more; --json gives them all"] if len(told) > SHOWN else []
    missing = list(Counter(fault["animals"][0] for fault in value["missing_parents"]))
    if missing:
        named = ", ".join(missing[:6]) + (", and more" if len(missing) > 6 else "")
        lines.append(f"Parents without a row of their own, taken as founders: {len(missing)} ({named})")
    if value["unreadable"]:
        lines.append(f"Lines with a remark or not read: {len(value['unreadable'])}")
    return lines
