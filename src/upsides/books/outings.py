"""What `Outing.measured` holds, and how it is read: numbers rounded to what they are good for, in an open object.

    {"bouts": [...], "works": [...], "speeds": {"19": [metres, strides, counted]}, "heart": {...}, "kept": 0.98,
     "air": 14.2, "messages": [{"code": ..., "values": {...}}]}

A bout, and a piece of work, is an object of `kind`, `start` (seconds since 1970), `seconds`, `metres`, `rise` (or
null), `speed`, `speed_sd`, `top`; where it is canter or fast work also `furlongs` and `best` (by how many furlongs), a
length being [metres, seconds, sd]; a piece of work may also have `fast`, its metres at fast work, and one on a gallop
has `gallop`: `number`, `forward`, `begin` (or null), `marks` (lengths), `sure`, and, since they are measured, `metres`
and `fast`, those on its line (or null). `heart` may hold more than is written here, and keeps it. Messages of an
earlier version stand as [code, sentence, count], as they were written.
Where acceleration was recorded, `even` holds how even the strides were: `half` with `half_sd`, `trot`, `work`,
`windows`, `why_not`.
Step n of `speeds` is from n / 2 m/s on. `air` is the device's own thermometer, degrees Celsius, or null.
"""

from collections.abc import Iterable, Mapping
from math import isfinite, nan
from typing import Any

from upsides.recordings.bouts.evenness import Evenness
from upsides.recordings.measured import Measured, OnGallop, Piece, Speeds
from upsides.recordings.recording import Message
from upsides.recordings.sentences import Value
from upsides.recordings.work import Split


def kept(told: Measured) -> dict[str, Any]:
    """Return what was measured as it is kept in the books."""
    return {
        "bouts": [_piece(one) for one in told.bouts],
        "works": kept_works(told.works),
        "speeds": {str(n): [_r(one.metres, 1), _r(one.strides, 1), one.counted] for n, one in told.speeds.items()},
        "heart": {name: _r(value, 3) if isinstance(value, float) else value for name, value in told.heart.items()},
        "kept": _r(told.kept, 4),
        "air": _r(told.air_c, 1),
        "messages": kept_messages(told.messages),
    } | ({} if told.even is None else {"even": _even(told.even)})


def kept_works(works: Iterable[Piece]) -> list[dict[str, Any]]:
    """Return pieces of work as `works` holds them."""
    return [_piece(one) for one in works]


def kept_messages(messages: Iterable[Message]) -> list[dict[str, Any]]:
    """Return messages of a reading as the books keep them."""
    return [{"code": one.code, "values": {name: _plain(it) for name, it in one.values.items()}} for one in messages]


def read_messages(kept: Iterable[Any]) -> tuple[Message, ...]:
    """Return messages out of what is kept, also of an earlier version."""
    return tuple(map(Message.of_json, kept))


def read(values: Mapping[str, Any]) -> Measured:
    """Return what was measured out of what is kept; what is missing was not measured."""
    return Measured(
        bouts=tuple(_read_piece(one) for one in values.get("bouts", ())),
        works=tuple(_read_piece(one) for one in values.get("works", ())),
        speeds={int(n): Speeds(metres, _n(strides), counted) for n, (metres, strides, counted) in _items(values)},
        heart=dict(values.get("heart", {})),
        kept=float(values.get("kept", 0.0)),
        even=_read_even(values.get("even")),
        air_c=_n(values.get("air")),
        messages=read_messages(values.get("messages", ())),
    )


def _even(one: Evenness) -> dict[str, Any]:
    told: dict[str, Any] = {"half": _r(one.half, 4), "half_sd": _r(one.half_sd, 4), "trot": _r(one.trot, 3)}
    return told | {"work": _r(one.work, 3), "windows": one.windows, "why_not": one.why_not}


def _read_even(told: Mapping[str, Any] | None) -> Evenness | None:
    if told is None:
        return None
    numbers = {name: _n(told.get(name)) for name in ("half", "half_sd", "trot", "work")}
    return Evenness(**numbers, windows=told.get("windows", 0), why_not=told.get("why_not", ""))


def _items(values: Mapping[str, Any]) -> list[tuple[str, list[Any]]]:
    return sorted(values.get("speeds", {}).items(), key=lambda pair: int(pair[0]))


def _piece(one: Piece) -> dict[str, Any]:
    told: dict[str, Any] = {
        "kind": one.kind,
        "start": _r(one.start_s, 2),
        "seconds": _r(one.seconds, 2),
        "metres": _r(one.metres, 1),
        "rise": _r(one.rise_m, 1),
        "speed": _r(one.speed_ms, 3),
        "speed_sd": _r(one.speed_sd_ms, 3),
        "top": _r(one.top_ms, 2),
    }
    if one.kind in {"canter", "fast"}:
        told["furlongs"] = [_split(split) for split in one.furlongs]
        told["best"] = {str(furlongs): _split(split) for furlongs, split in one.best.items()}
    if one.gallop is not None:
        on = one.gallop
        marks = [_split(split) for split in on.splits]
        told["gallop"] = {
            "number": on.number, "forward": on.forward, "begin": _r(on.begin_m, 1), "marks": marks,
            "sure": _r(on.sure, 3), "metres": _r(on.metres, 1), "fast": _r(on.fast_m, 1),
        }  # fmt: skip
    if isfinite(one.fast_m):
        told["fast"] = _r(one.fast_m, 1)
    return told


def _read_piece(told: Mapping[str, Any]) -> Piece:
    return Piece(
        kind=told["kind"],
        start_s=told["start"],
        seconds=told["seconds"],
        metres=told["metres"],
        rise_m=_n(told.get("rise")),
        speed_ms=told["speed"],
        speed_sd_ms=_n(told.get("speed_sd")),
        top_ms=_n(told.get("top")),
        furlongs=tuple(_read_split(one) for one in told.get("furlongs", ())),
        best={int(furlongs): _read_split(one) for furlongs, one in told.get("best", {}).items()},
        gallop=_read_gallop(told.get("gallop")),
        fast_m=_n(told.get("fast")),
    )


def _read_gallop(told: Mapping[str, Any] | None) -> OnGallop | None:
    if told is None:
        return None
    marks = tuple(_read_split(one) for one in told.get("marks", ()))
    on_line = _n(told.get("metres")), _n(told.get("fast"))
    return OnGallop(told["number"], told["forward"], _n(told.get("begin")), marks, told.get("sure", 1.0), *on_line)


def _split(one: Split) -> list[float | None]:
    return [_r(one.metres, 2), _r(one.seconds, 2), _r(one.sd_s, 3)]


def _read_split(told: list[float | None]) -> Split:
    metres, seconds, sd = told
    return Split(_n(metres), _n(seconds), _n(sd))


def plain(text: str) -> str:
    """Return a text as databases take it: without NUL, and whole letters only."""
    return text.replace("\0", "").encode("utf-8", "replace").decode("utf-8")


def _plain(value: Value) -> Value:
    return plain(value) if isinstance(value, str) else value


def _r(value: float, places: int) -> float | None:
    """Return a number rounded, None for one that is none: JSON knows no NaN."""
    return round(value, places) if isfinite(value) else None


def _n(value: float | None) -> float:
    return nan if value is None else float(value)
