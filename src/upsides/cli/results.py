"""`upsides results`: add tables of results to the library, look through it, propose a shape for an unknown table."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.links import link, links, unlink
from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown
from upsides.cli.refusals import refusal_lines

if TYPE_CHECKING:
    from upsides.results.importing import Imported
    from upsides.results.proposing import Proposal


@click.group()
def results() -> None:
    """Bring published results into the library."""


for _command in (link, links, unlink):
    results.add_command(_command)


@results.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--shape", required=True, help="Name of a shipped shape, or path of a TOML file.")
@library_option
@json_option
def add(files: tuple[Path, ...], shape: str, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Add FILES to the library; the same files twice change nothing, corrected ones replace."""
    from upsides.results import importing
    from upsides.results.library import Library

    importing.check_files(files, shape)
    with shown() as line:
        imported = importing.add(
            Library.create(library), files, shape, progress=lambda done, total, what: line(done / total, what)
        )
    found = _found(library)
    lines = [f"Horses of the yard that the library now knows: {found}."] if found else []
    answer(as_json, _as_value(imported) | {"found": found}, [*_as_lines(imported), *lines])


def _found(library: Path) -> int:
    """Let horses of the yard that were entered before their results find them; return how many did."""
    from upsides.books.services.opening import has_books, open_books

    if not has_books(library):
        return 0
    open_books(library)
    from upsides.books.services.horses import link_horses

    return link_horses(library)


def _as_value(imported: "Imported") -> dict[str, Any]:
    refused = imported.refused.select("reason", "file", "line", "field", "value", "fate")
    return {
        "source": imported.source,
        "races": imported.races,
        "runs": imported.runs,
        "new": imported.new,
        "replaced": imported.replaced,
        "unchanged": imported.unchanged,
        "horses": imported.horses,
        "horses_changed": imported.horses_changed,
        "horses_raced": imported.horses_raced,
        "refused_rows": imported.refused_rows,
        "refused": refused.to_dicts(),
        "unused_columns": imported.unused,
    }


def _as_lines(imported: "Imported") -> list[str]:
    lines = [_races_line(imported)] if imported.races or imported.runs or not imported.horses else []
    lines += [_horses_line(imported)] if imported.horses else []
    lines += [f"Not used from {name}: {', '.join(unused)}." for name, unused in imported.unused.items() if unused]
    return [*lines, *refusal_lines(imported.refused, imported.refused_rows)]


def _races_line(imported: "Imported") -> str:
    if imported.races == 0 and imported.refused_rows:
        done = "Nothing could be taken."
    elif imported.new or imported.replaced:
        done = f"{imported.new:,} races are new, {imported.replaced:,} replaced, {imported.unchanged:,} unchanged."
    else:
        done = "The library held all of them already."
    return f"{imported.source}: {imported.races:,} races and {imported.runs:,} runs read. {done}"


def _horses_line(imported: "Imported") -> str:
    changed = f"of {imported.horses_changed:,} something new is known" if imported.horses_changed else "nothing is new"
    raced = f"of all its listed horses {imported.horses_raced:,} have run here"
    return f"{imported.source}: {imported.horses:,} horses read, {changed}; {raced}."


@results.command()
@library_option
@json_option
def check(library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Look through the library: what it holds and what is odd."""
    from dataclasses import asdict

    from upsides.results.checking import check as look
    from upsides.results.library import Library

    opened = Library.open(library)
    found = look(opened)
    sources = [asdict(summary) for summary in opened.summary()]
    value = {
        "sources": sources,
        "years": found.years.to_dicts(),
        "missing": found.missing.to_dicts(),
        "findings": [asdict(finding) for finding in found.findings],
    }
    lines = [
        f"{s['source']}: {s['races']:,} races, {s['runs']:,} runs, {s['horses']:,} horses"
        + (f" and {s['unraced']:,} more that have no run here" if s["unraced"] else "")
        + (f", {s['first']} to {s['last']}" if s["first"] else "")
        + f"; {s['refused']:,} rows refused"
        for s in sources
    ] or ["The library is empty. Add results: upsides results add FILE --shape NAME"]
    lines += [f"  {f.source}: {f.kind}: {f.count:,}" + (f" of {f.of:,}" if f.of else "") for f in found.findings]
    answer(as_json, value, lines)


@results.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@library_option
@json_option
def propose(files: tuple[Path, ...], library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Propose a shape for FILES, the tables of one source that no shape is known for.

    It is printed as TOML that can be saved as it stands; what was understood is in its comments.
    """
    from dataclasses import asdict

    from upsides.results.proposing import propose as guess

    proposal = guess(list(files))
    named = " ".join(str(file) for file in files)
    then = f"upsides results add {named} --shape THIS.toml --library {library}"
    lines = [*_understood(proposal), f"# Save this as THIS.toml and look it over; then: {then}", proposal.toml]
    answer(as_json, asdict(proposal) | {"then": then}, lines)


def _understood(proposal: "Proposal") -> list[str]:
    """Return what was understood and what is unclear as comments of the proposed shape."""
    lines = []
    for name, columns in proposal.understood.items():
        width = max((len(column) for column in columns), default=0)
        lines += [f"# {name}, {len(columns)} columns understood:"]
        lines += [f"#   {column:<{width}}  {meaning}" for column, meaning in columns.items()]
        lines += [f"# {name}, {len(proposal.dropped[name])} columns left out, listed under [table.unused] below."]
        poor = [f"{field} ({share:.0%})" for field, share in proposal.trial[name].items() if share < 0.995]
        lines += [f"# {name}, not filled in every row tried: {', '.join(poor)}."] if poor else []
    return lines + [f"# Unclear: {sentence}." for sentence in proposal.unclear]


@results.command()
@library_option
@json_option
def shapes(library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """List the shapes that come with the program, and the sources that the library holds."""
    from upsides.results.library import Library
    from upsides.results.shape import load_shape, shipped_shapes

    known = {name: load_shape(name).about for name in shipped_shapes()}
    held = [one.source for one in Library.open(library).summary()] if (library / "library.json").exists() else []
    lines = [f"{name:<12} {about}" for name, about in known.items()]
    lines += [f"The library {library} holds results of: {', '.join(held)}."] if held else []
    answer(as_json, {"shapes": known, "held": held}, lines)
