"""A first shape for a table that nobody has described yet.

`propose` looks at the names and the values of the columns, writes a shape in TOML that `shape.py` accepts,
tries it on the first rows, and says what it understood, what it left out and what it could not tell. It is a
draft for a person to read: units of bare numbers and codes can be told from the values only so far.
"""

import json
import re
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.description import Shape
from upsides.results.drafting import Draft, codes_out, rules_for
from upsides.results.fields import RACE_FIELDS, RUN_FIELDS
from upsides.results.guessing import Guess, guesses, may_be
from upsides.results.mapping import map_batch
from upsides.results.profiles import Profile, profile
from upsides.results.readers import Source, open_source, read_batches
from upsides.results.reasons import ON_PURPOSE
from upsides.results.sectioning import numbered_lists, packed_sections, section_length
from upsides.results.shape import read_shape

SAMPLE_ROWS = 200_000
HORSE = frozenset({"horse_id", "horse_name"})
RAN = frozenset({"position", "draw", "carried_lb", "beaten_lengths", "saddlecloth", "age", "sex"})
RACED = frozenset({"distance_m", "course", "going"})
MARGINS = {"nose": 0.05, "short head": 0.1, "head": 0.2, "neck": 0.3}
"""Lengths of named margins in a draft: the general reference list of racing-standards (S30), medium."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposed shape and how far it carries.

    Args:
        toml: the shape; `read_shape` accepts it.
        shape: the same, read.
        understood: by file, what each taken column was taken for, and why.
        dropped: by file, columns that nothing was taken from, with the reason.
        unclear: what could not be told, as sentences.
        trial: by file and field, the share of the rows tried (those left out on purpose apart) that filled
            it.
    """

    toml: str
    shape: Shape
    understood: dict[str, dict[str, str]]
    dropped: dict[str, dict[str, str]]
    unclear: list[str]
    trial: dict[str, dict[str, float]]


def propose(files: list[Path], source: str = "new") -> Proposal:
    """Propose a shape for the tables of one source.

    Args:
        files: the tables.
        source: the name the source shall have.

    Raises:
        FileUnreadableError: a file cannot be read, or holds neither races nor runs as far as one can tell.
    """
    opened = [open_source(path) for path in files]
    samples = [_sample(item) for item in opened]
    drafts = [_draft(item, sample) for item, sample in zip(opened, samples, strict=True)]
    shape = read_shape(_toml(source, opened, drafts, None), _("the proposal"))
    length = _tried_sections(samples, shape)
    if length is not None:
        drafts[0].unclear.append(f"sections are taken as {length:g} m from the finish back, the first what is left")
    text = _toml(source, opened, drafts, length)
    shape = read_shape(text, _("the proposal"))
    return Proposal(
        toml=text,
        shape=shape,
        understood={draft.file: draft.understood for draft in drafts},
        dropped={draft.file: draft.dropped for draft in drafts},
        unclear=[f"{draft.file}: {line}" for draft in drafts for line in draft.unclear],
        trial={
            draft.file: _trial(sample, shape, place)
            for place, (draft, sample) in enumerate(zip(drafts, samples, strict=True))
        },
    )


def _sample(source: Source) -> pl.DataFrame:
    frames, rows = [], 0
    for batch in read_batches(source):
        frames.append(batch.frame)
        rows += batch.frame.height
        if rows >= SAMPLE_ROWS:
            break
    sample = pl.concat(frames).head(SAMPLE_ROWS) if frames else pl.DataFrame()
    if sample.is_empty():
        raise FileUnreadableError(source.path.name, _("it has no rows below its header"), _("give a file with rows"))
    return sample


def _draft(source: Source, sample: pl.DataFrame) -> Draft:
    columns = [profile(name, sample[name]) for name in source.columns]
    by_name = {column.name: column for column in columns}
    draft = Draft(source.path.name)
    lists = numbered_lists(columns, draft.dropped)
    listed = {name for names in lists.values() for name in names} | draft.dropped.keys()
    packed = packed_sections([column for column in columns if column.name not in listed])
    listed |= {packed}
    found = {guess.field: guess for guess in guesses([c for c in columns if c.name not in listed])}
    found = _with_race_id(found, by_name, sample)
    _settle_kind(draft, found, by_name, lists)
    if packed and (draft.race or draft.run):
        target = draft.run or draft.race
        target["section_s"] = f'{{ from = {json.dumps(packed, ensure_ascii=False)}, split = " " }}'
        draft.understood[packed] = "section_s, by its name and its values"
    if not draft.race and not draft.run:
        unclear = f" ({'; '.join(draft.unclear)})" if draft.unclear else ""
        reason = _("neither races nor runs can be made out in it{unclear}", unclear=unclear)
        raise FileUnreadableError(source.path.name, reason, _("write its shape by hand: docs/shapes.md"))
    taken = {*draft.understood, *listed}
    for column in columns:
        if column.name not in taken and column.name not in draft.dropped:
            draft.dropped[column.name] = _unknown(column)
    return draft


# Which fields go where ----------------------------------------------------------------------------


def _unknown(column: Profile) -> str:
    if not len(column.texts):
        return "always empty"
    could = ", ".join(may_be(column))
    return f"not recognised; by its values it could be {could}" if could else "not recognised"


def _with_race_id(found: dict[str, Guess], columns: dict[str, Profile], sample: pl.DataFrame) -> dict[str, Guess]:
    """Find the column that names the race by its values: it comes in unbroken runs of a field's size."""
    if "race_id" in found:
        return found
    taken = {guess.column for name, guess in found.items() if name not in ("title", "race_no", "horse_id")}
    best: tuple[float, str] | None = None
    for name, column in columns.items():
        if name in taken or column.filled < 1 or column.distinct < 5:
            continue
        blocks = sample[name].rle_id().n_unique()
        size = sample.height / blocks
        if blocks == column.distinct and (size == 1 or 4 <= size <= 25):
            closeness = abs(size - 12) if size > 1 else 50.0
            best = min(best, (closeness, name)) if best else (closeness, name)
    if best is None:
        return found
    kept = {name: guess for name, guess in found.items() if guess.column != best[1]}
    return kept | {"race_id": Guess("race_id", best[1], 1.0, "it comes in unbroken runs of a field's size")}


def _settle_kind(
    draft: Draft, found: dict[str, Guess], columns: dict[str, Profile], lists: dict[str, list[str]]
) -> None:
    """Decide whether the rows are races, runs or both, and write the rule of every field."""
    is_run = bool(HORSE & found.keys()) and bool(RAN & found.keys())
    has_race = "date" in found and bool(RACED & found.keys())
    if "date" not in found:
        draft.unclear.append("no date was found; races need one, from here or from another table")
    key = _race_key(found, draft)
    if not key or not (is_run or has_race):
        return
    for name, guess in found.items():
        column = columns[guess.column]
        if is_run and name in RUN_FIELDS and name != "race_id":
            draft.run |= rules_for(name, column, draft)
        elif has_race and name in RACE_FIELDS and not (is_run and name == "winning_time_s"):
            draft.race |= rules_for(name, column, draft)
        elif name != "race_id":
            kind = "runs" if is_run else "races"
            draft.dropped[guess.column] = f"looks like {name}, which a table of {kind} like this cannot give"
            continue
        draft.understood[guess.column] = f"{name}, by {guess.why}"
    if has_race:
        draft.race["race_id"] = key
    else:
        draft.run["race_id"] = key
    _take_lists(draft, columns, lists, is_run=is_run)


def _take_lists(draft: Draft, columns: dict[str, Profile], lists: dict[str, list[str]], *, is_run: bool) -> None:
    target = draft.run if is_run else draft.race
    for name, members in lists.items():
        if is_run or name == "section_s":
            target[name] = codes_out(_spread(members), [columns[member] for member in members])
            said = f"{name}, by the names and values of the numbered columns"
            draft.understood |= dict.fromkeys(members, said)
        else:
            draft.dropped |= dict.fromkeys(members, f"looks like {name}, which a table of races cannot give")


def _race_key(found: dict[str, Guess], draft: Draft) -> str:
    if "race_id" in found:
        return json.dumps(found["race_id"].column, ensure_ascii=False)
    parts = [found[name].column for name in ("date", "course", "race_no") if name in found]
    if len(parts) < 2 or "date" not in found:
        draft.unclear.append("no column names the race")
        return ""
    draft.unclear.append(f"no column names the race; {', '.join(parts)} together are taken for it")
    return json.dumps(parts, ensure_ascii=False)


# Rules --------------------------------------------------------------------------------------------


def _spread(members: list[str]) -> str:
    first, last = (re.fullmatch(r"(.*?)(\d+)", name) for name in (members[0], members[-1]))
    if first and last and len(members) == int(last[2]) - int(first[2]) + 1:
        return json.dumps(f"{first[1]}{{{first[2]}..{last[2]}}}", ensure_ascii=False)
    return json.dumps(members, ensure_ascii=False)


# Writing it down ----------------------------------------------------------------------------------


def _tried_sections(samples: list[pl.DataFrame], shape: Shape) -> float | None:
    for sample, table in zip(samples, shape.tables, strict=True):
        if {"distance_m", "section_s"} <= {rule.field.name for rule in table.race}:
            return section_length(map_batch(sample, table, shape, "sample").races)
    return None


def _toml(source: str, opened: list[Source], drafts: list[Draft], section_m: float | None) -> str:
    lines = [
        "# A proposal drawn from the tables themselves. Read it before you use it.",
        "format = 1",
        f"source = {json.dumps(source)}",
        'timezone = "UTC"',
        "",
    ]
    if any(draft.margins for draft in drafts):
        lines.append("[margins]")
        lines += [f"{json.dumps(name)} = {value}" for name, value in MARGINS.items()]
        lines.append("")
    if section_m is not None:
        lines += ["[sections]", f"length_m = {section_m:g}", 'measured_from = "finish"', ""]
    for item, draft in zip(opened, drafts, strict=True):
        lines += _table_lines(item, draft)
    return "\n".join(lines)


def _table_lines(source: Source, draft: Draft) -> list[str]:
    marks = [name for name in source.columns if name in draft.understood][:6]
    lines = [
        "[[table]]",
        f"name = {json.dumps(source.path.name)}",
        f"has = {json.dumps(marks, ensure_ascii=False)}",
    ]
    if draft.leave_out:
        lines += ["", "[[table.leave_out]]", draft.leave_out]
    for kind, rules in (("race", draft.race), ("run", draft.run)):
        if rules:
            lines += ["", f"[table.{kind}]", *(f"{name} = {rule}" for name, rule in rules.items())]
    if draft.dropped:
        lines += ["", "[table.unused]"]
        lines += [f"{json.dumps(n, ensure_ascii=False)} = {json.dumps(why)}" for n, why in draft.dropped.items()]
    return [*lines, ""]


def _trial(sample: pl.DataFrame, shape: Shape, place: int) -> dict[str, float]:
    """Map the sample by the proposed shape and return the share of rows in which each field is filled."""
    mapped = map_batch(sample, shape.tables[place], shape, "sample")
    apart = mapped.refused.filter(ON_PURPOSE).height
    rows = max(sample.height - apart, 1)
    shares: dict[str, float] = {}
    for frame, rules in ((mapped.races, shape.tables[place].race), (mapped.runs, shape.tables[place].run)):
        for rule in rules:
            shares[rule.field.name] = frame[rule.field.name].count() / rows
    return shares
