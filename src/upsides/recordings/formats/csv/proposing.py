"""A draft of a shape, guessed from the names of the columns and from what stands in them, to be corrected by hand."""

import re

from upsides.errors import NoShapeFitsError
from upsides.recordings.formats.csv.table import header_of
from upsides.recordings.formats.decoding import decoded

ANGLE = (("semicircles", r"^-?\d{7,}$"), ("degrees_minutes", r"^\d{4,5}\.\d+$"), ("degrees", ""))
GUESSES: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...] = (
    ("latitude", r"lat", ANGLE),
    ("longitude", r"lon|lng", ANGLE),
    ("accuracy_m", r"accura|hacc|hdop|epe", ()),
    ("acceleration_x", r"^(acc\w*[ _-]?x|x[ _-]?acc\w*|ax)\b", ()),
    ("acceleration_y", r"^(acc\w*[ _-]?y|y[ _-]?acc\w*|ay)\b", ()),
    ("acceleration_z", r"^(acc\w*[ _-]?z|z[ _-]?acc\w*|az)\b", ()),
    ("heart_bpm", r"heart|\bhr\b|pulse|bpm", ()),
    ("air_c", r"temp", ()),
    ("speed_ms", r"speed|veloc|\bspd", ()),
    ("height_m", r"alt|elev|height", ()),
    ("distance_m", r"dist", ()),
    ("lap", r"^lap\b|segment", ()),
    ("device", r"device|tracker|unit|serial|sensor", ()),
    ("sport", r"^sport|activity", ()),
)
"""Which field a name speaks of, and for a unit that the cells give away what they look like."""

NAMED_UNITS = (
    ("km/h", r"km/?h|kph"),
    ("knots", r"knot|\bkn\b|\bkt"),
    ("mph", r"mph"),
    ("hdop", r"hdop"),
    ("m/s2", r"m/s\^?2|ms-?2"),
    ("ft", r"\bft\b|feet"),
    ("km", r"\bkm\b"),
)
TIME = r"time|date|clock|\butc\b|\bday\b|stamp|elapsed"
KINDS = (
    ("iso", "", r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d"),
    ("epoch ms", "", r"^\d{13}(\.\d+)?$"),
    ("epoch s", "", r"^\d{10}(\.\d+)?$"),
    ("text", "%d/%m/%Y %H:%M:%S", r"^\d\d/\d\d/\d{4} \d\d:\d\d:\d\d$"),
    ("text", "%d.%m.%Y %H:%M:%S", r"^\d\d\.\d\d\.\d{4} \d\d:\d\d:\d\d$"),
    ("text", "%a %b %d %H:%M:%S %z %Y", r"^\w{3} \w{3} \d+ \d\d:\d\d:\d\d \w+ \d{4}$"),
    ("elapsed h:m:s", "", r"^\d+:\d\d(:\d\d)?([.,]\d+)?$"),
    ("elapsed s", "", r"^\d+([.,]\d+)?$"),
)

ZONE = r"(?:Z|[+-]\d\d:?\d\d|[A-Z]{2,5})$"
"""What a time ends with that names its zone; AM and PM are taken for one, too."""


def propose(data: bytes, file: str) -> str:
    """Return the text of a shape for a table, as far as the names of its columns and its first row tell.

    Lines that need an eye begin with a comment; columns that nothing was found for stand in one at the end.

    Raises:
        NoShapeFitsError: no line of the first twenty names two columns.
    """
    text = decoded(data[: 1 << 16])[0]
    for line in range(1, 21):
        header = header_of(text, line, "auto")
        row = header.below.partition("\n")[0].split(header.delimiter)
        if len(header.names) > 1 and any(re.search(TIME, name, re.IGNORECASE) for name in header.names):
            cells = dict(zip(header.names, (cell.strip(' "\r') for cell in row), strict=False))
            return _draft(header.names, cells, line, header.delimiter)
    raise NoShapeFitsError(file, [name for name in header_of(text, 1, "auto").names if name])


def _draft(names: tuple[str, ...], cells: dict[str, str], line: int, delimiter: str) -> str:
    comma = delimiter != "," and any(re.fullmatch(r"-?\d+,\d+", cell) for cell in cells.values())
    clock = [name for name in names if re.search(TIME, name, re.IGNORECASE)]
    fields = _guessed([name for name in names if name not in clock], cells)
    used = {*clock, *(name for name, _ in fields.values())}
    written = "\n".join(
        f"{field} = {{ from = {_quoted(name)}, unit = {_quoted(unit)} }}" if unit else f"{field} = {_quoted(name)}"
        for field, (name, unit) in fields.items()
    )
    rest = ", ".join(name for name in names if name and name not in used)
    return "\n".join(
        [
            "format = 1",
            'name = "mine"',
            "",
            "[file]",
            f"delimiter = {_quoted(delimiter)}",
            f'decimal = "{"," if comma else "."}"',
            f"header_line = {line}",
            "",
            *_time(clock, cells),
            "",
            "# look at each unit: a name does not always tell it",
            "[columns]",
            written,
            f"# not taken: {rest}" if rest else "",
            "",
        ]
    )


def _quoted(text: str) -> str:
    """Return a text as TOML writes it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t")
    return f'"{escaped}"'


def _time(clock: list[str], cells: dict[str, str]) -> list[str]:
    dated = [name for name in clock if re.search(r"date|day", name, re.IGNORECASE)]
    timed = [name for name in clock if name not in dated]
    columns = [*dated[:1], *timed[:1]]
    example = " ".join(cells.get(name, "") for name in columns)
    kind, style, _ = next((one for one in KINDS if re.search(one[2], example)), ("text", "%Y-%m-%d %H:%M:%S", ""))
    unsaid = kind in {"iso", "text"} and not re.search(ZONE, example)
    return [
        "[time]",
        f"from = [{', '.join(map(_quoted, columns))}]",
        f"# the first is written {example!r}".replace("\n", " "),
        f'is = "{kind}"',
        *([f'format = "{style}"'] if style else []),
        *(
            ["# THESE TIMES NAME NO ZONE: put in the yard's own, as Europe/London, unless they are UTC"]
            if unsaid
            else []
        ),
        '# the zone of times that name none; for abbreviations: abbreviations = { PDT = "-07:00" }',
        'zone = "UTC"',
        *(["# say what it counts from: start = 2024-05-01T06:00:00Z"] if kind.startswith("elapsed") else []),
    ]


def _guessed(names: list[str], cells: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Return for each field found the column, and its unit where it is not the usual one."""
    found: dict[str, tuple[str, str]] = {}
    for name in names:
        plain = re.sub(r"[_.]+", " ", name)
        field, _, looks = next((one for one in GUESSES if re.search(one[1], plain, re.IGNORECASE)), ("", "", ()))
        if not field or field in found:
            continue
        unit = next((unit for unit, look in looks if re.search(look, cells.get(name, ""))), "")
        if not looks:
            unit = next((unit for unit, look in NAMED_UNITS if re.search(look, plain, re.IGNORECASE)), "")
        found[field] = (name, unit if unit != "degrees" else "")
    return found
