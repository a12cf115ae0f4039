"""The rules of a proposed shape, field by field, written as TOML."""

import json
from dataclasses import dataclass, field

import polars as pl

from upsides.results.fields import SERIAL
from upsides.results.guessing import SURFACE_WORDS, words
from upsides.results.profiles import Profile, date_format, notation_share, time_style

UNIT_WORDS = frozenset(
    ["m", "km", "metres", "meters", "yards", "yds", "furlongs", "miles", "kg", "kgs", "lb", "lbs", "pounds"]
)


@dataclass(slots=True)
class Draft:
    """One table of a proposal.

    Args:
        file: the file it was drawn from.
        race: TOML values by race field.
        run: TOML values by run field.
        understood: what each taken column was taken for, and why.
        dropped: columns that nothing was taken from, with the reason.
        unclear: what could not be told.
        margins: whether named margins occur.
        leave_out: rows to be left out, as TOML.
    """

    file: str
    race: dict[str, str] = field(default_factory=dict)
    run: dict[str, str] = field(default_factory=dict)
    understood: dict[str, str] = field(default_factory=dict)
    dropped: dict[str, str] = field(default_factory=dict)
    unclear: list[str] = field(default_factory=list)
    margins: bool = False
    leave_out: str = ""


def rules_for(name: str, column: Profile, draft: Draft) -> dict[str, str]:  # noqa: PLR0911  # one return a kind
    """Return the rule of a field as TOML; some columns fill two fields."""
    source = json.dumps(column.name, ensure_ascii=False)
    if name in ("date", "time_s", "winning_time_s"):
        return {name: _timed_rule(name, column, source, draft)} | _off_at(name, column, source)
    if name in ("distance_m", "carried_lb", "body_mass_kg"):
        return {name: _measured_rule(name, column, source, draft)}
    if name == "position":
        return _position_rules(column, source, draft)
    if name == "beaten_lengths":
        return _margin_rules(column, source, draft)
    if name in ("sex", "surface"):
        return {name: _coded_rule(name, column, source, draft)}
    if name == "rating_high":
        high = f"{{ from = {source}, pattern = '^\\d+-(\\d+)$' }}"
        low = f"{{ from = {source}, pattern = '^(\\d+)-\\d+$' }}"
        first, second = column.texts.str.extract_groups(r"^(\d+)-(\d+)$").struct.unnest()
        falling = (first.cast(pl.Int64, strict=False) > second.cast(pl.Int64, strict=False)).sum()
        return {"rating_high": low, "rating_low": high} if falling else {"rating_high": high, "rating_low": low}
    if name == "code":
        return _code_rule(column, source, draft)
    return {name: codes_out(source, [column]) if name in ("odds", "official_rating") else source}


def _code_rule(column: Profile, source: str, draft: Draft) -> dict[str, str]:
    """Return the code of racing; harness races are left out, since nothing here is about them."""
    when = [(code, pattern) for code, pattern in words()["codes"].items() if column.share_matching(pattern) > 0]
    if not when:
        draft.unclear.append(f"{column.name} may be the code of racing; none of its words is known")
        return {}
    if any(code == "harness" for code, _ in when):
        draft.leave_out = f"column = {source}\nmatches = '{words()['codes']['harness']}'\nreason = \"a harness race\""
    cases = ", ".join(f"{{ matches = '{pattern}', value = \"{code}\" }}" for code, pattern in when)
    return {"code": f'{{ from = {source}, when = [{cases}], other = "empty" }}'}


def _off_at(name: str, column: Profile, source: str) -> dict[str, str]:
    style, _ = date_format(column) if name == "date" else ("", False)
    return {"off_at": f"{{ from = {source}, format = {json.dumps(style)} }}"} if "%H" in style else {}


def _timed_rule(name: str, column: Profile, source: str, draft: Draft) -> str:
    if name == "date":
        style, doubt = date_format(column)
        if not style:
            style = SERIAL
            draft.unclear.append(
                f"{column.name} holds bare numbers; they are taken as a spreadsheet's days (1900 system)"
            )
        if doubt:
            draft.unclear.append(f"the dates in {column.name} could be read in several ways; {style} fits best")
        return (
            source
            if style == "%Y-%m-%d"
            else f"{{ from = {source}, format = {json.dumps(style, ensure_ascii=False)} }}"
        )
    style = time_style(column)
    if style:
        return f"{{ from = {source}, format = {json.dumps(style)} }}"
    zero = column.within(0, 0) > 0
    return f'{{ from = {source}, missing = ["0"] }}' if zero else codes_out(source, [column])


def _measured_rule(name: str, column: Profile, source: str, draft: Draft) -> str:
    unit = {"distance_m": _distance_unit, "carried_lb": _carried_unit, "body_mass_kg": _mass_unit}[name](column)
    if name == "body_mass_kg" and column.share_matching(r"^\d{3}\([+\-]?\d+\)$") > 0.5:
        return f"{{ from = {source}, pattern = '^(\\d+)', unit = \"kg\" }}"
    if unit != "written" and not UNIT_WORDS & set(column.words):
        draft.unclear.append(f"{column.name} says no unit; {unit} is taken, from the size of its numbers")
    return f'{{ from = {source}, unit = "{unit}" }}'


def _distance_unit(column: Profile) -> str:
    if notation_share(column, "m") > 0.5:
        return "written"
    if "yards" in column.words or "yds" in column.words:
        return "yd"
    if column.within(0, 4.9) > 0.9:
        return "mi"
    if column.within(4, 40) > 0.9:
        return "f"
    by_furlong = (column.numbers % 110 == 0).sum()
    by_metre = (column.numbers % 50 == 0).sum()
    return "yd" if int(by_furlong) > 1.2 * int(by_metre) else "m"


def _carried_unit(column: Profile) -> str:
    if notation_share(column, "lb") > 0.5:
        return "written"
    return "kg" if column.within(43, 85) > 0.9 else "lb"


def _mass_unit(column: Profile) -> str:
    return "kg" if column.within(330, 650) > 0.9 else "lb"


def _position_rules(column: Profile, source: str, draft: Draft) -> dict[str, str]:
    odd = column.texts.filter(~column.texts.str.contains(r"^\d+(\.0)?( ?DH)?$")).unique().sort()
    known = {code.upper(): outcome for code, outcome in words()["outcomes"].items()}
    codes = {text: known[text.upper()] for text in odd if text.upper() in known}
    strange = [text for text in odd if text not in codes]
    if strange:
        draft.unclear.append(f"{column.name} holds {', '.join(strange[:8])}: what became of those horses is not known")
    rules = {"position": f"{{ from = {source}, pattern = '^(\\d+)' }}" if len(odd) or _marks_heats(column) else source}
    if _marks_heats(column):
        rules["dead_heat"] = f"{{ from = {source}, pattern = '(DH)$' }}"
    if codes:
        table = ", ".join(f"{json.dumps(c, ensure_ascii=False)} = {json.dumps(o)}" for c, o in codes.items())
        when = "{ matches = '^\\d+(\\.0)?( ?DH)?$', value = \"finished\" }"
        rules["outcome"] = f"{{ from = {source}, when = [{when}], codes = {{ {table} }} }}"
    return rules


def _marks_heats(column: Profile) -> bool:
    return column.share_matching(r"^\d+ ?DH$") > 0


def _margin_rules(column: Profile, source: str, draft: Draft) -> dict[str, str]:
    if column.numeric > 0.95:
        return {"beaten_lengths": codes_out(source, [column])}
    draft.margins = True
    draft.unclear.append(
        f"{column.name} is taken as behind the winner; if it is behind the horse in front, set margin_to"
    )
    return {"beaten_lengths": f'{{ from = {source}, unit = "written" }}', "margin": source}


def _coded_rule(name: str, column: Profile, source: str, draft: Draft) -> str:
    lists = words()["sexes" if name == "sex" else "surfaces"]
    meaning = {word: target for target, group in lists.items() for word in group}
    found = {text: meaning[text.lower()] for text in column.texts.unique().sort() if text.lower() in meaning}
    if name == "surface" and not found:
        if column.share_matching(SURFACE_WORDS) > 0.9:
            turf = "{ matches = '(?i)turf|grass|gazon', value = \"turf\" }"
            dirt = "{ matches = '(?i)dirt|sand', value = \"dirt\" }"
            rest = "{ matches = '(?i)all.?weather|synthetic|polytrack|tapeta|psf', value = \"synthetic\" }"
            draft.unclear.append(f"all-weather tracks in {column.name} are taken as synthetic; some are dirt")
            return f"{{ from = {source}, when = [{turf}, {dirt}, {rest}] }}"
        draft.unclear.append(f"{column.name} codes the surface by numbers; 0 is taken as turf, 1 as dirt")
        found = {"0": "turf", "1": "dirt"}
    pairs = ", ".join(
        f"{json.dumps(text, ensure_ascii=False)} = {json.dumps('' if word == 'unknown' else word)}"
        for text, word in found.items()
    )
    return f"{{ from = {source}, codes = {{ {pairs} }} }}"


def codes_out(column: str, profiles: list[Profile]) -> str:
    """Add 999 as a code for "not recorded" where it occurs far above everything else."""
    if any(_has_999(member) for member in profiles):
        return f'{{ from = {column}, missing = ["999"] }}'
    return column


def _has_999(column: Profile) -> bool:
    others = column.numbers.filter(column.numbers != 999)
    return len(others) < len(column.numbers) and len(others) > 0 and float(str(others.max())) < 500
