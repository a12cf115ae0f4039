"""What a laboratory measured in blood: lines as people copy them from a report."""

import re
from dataclasses import asdict, dataclass
from typing import Any, Final

from django.utils.formats import number_format

from upsides.errors import EntryRefusedError
from upsides.trade.reading import number

_NUMBER: Final = r"\d{1,9}(?:[.,]\d{1,6})?"
_LINE: Final = re.compile(
    rf"(?P<name>[^\d\s<>](?:.*?\S)?)\s+(?P<value>[<>]?\s?{_NUMBER})\s*(?P<unit>[^\s\d].*?)?"
    rf"(?:\s+[(\[]?(?:(?P<low>{_NUMBER})\s?[-–]\s?(?P<high>{_NUMBER})|(?P<side>[<>])\s?(?P<bound>{_NUMBER}))[)\]]?)?"
)
MOST: Final = 80
"""Most results of one sample."""


@dataclass(frozen=True, slots=True)
class Analyte:
    """One result, with the interval that the laboratory prints beside it.

    Args:
        name: as the report has it.
        value: the number.
        unit: its unit, empty where the report has none.
        low, high: the interval's ends; None where it has none.
        bound: "<" or ">" where the report says no more than that the value lies beyond what can be measured.
    """

    name: str
    value: float
    unit: str = ""
    low: float | None = None
    high: float | None = None
    bound: str = ""

    @property
    def outside(self) -> bool:
        """Return whether the value lies outside the laboratory's own interval."""
        return (self.low is not None and self.value < self.low) or (self.high is not None and self.value > self.high)

    def words(self) -> str:
        """Return name, value and unit."""
        return f"{self.name} {self.bound}{_written(self.value)} {self.unit}".strip()

    def typed(self) -> str:
        """Return the result as a line of a report."""
        if self.low is not None and self.high is not None:
            return f"{self.words()} {_written(self.low)}-{_written(self.high)}"
        one_end = f" < {_written(self.high)}" if self.high is not None else ""
        return self.words() + (f" > {_written(self.low)}" if self.low is not None else one_end)


def read_lines(text: str) -> list[dict[str, Any]]:
    """Read results, one a line: name, value, unit, interval ("PCV 42 % 32-48", "SAA < 5 mg/l < 20").

    Returns:
        What `Analyte` holds, as plain values.

    Raises:
        EntryRefusedError: a line is no result, a name comes twice, or there are too many.
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if len(lines) > MOST:
        raise EntryRefusedError(
            "results", str(len(lines)), f"{MOST} is the most of one sample", "enter it as two samples"
        )
    found = [_result(number, line) for number, line in enumerate(lines, start=1)]
    names = [one.name.casefold() for one in found]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise EntryRefusedError("results", twice[0], "it comes twice", "leave one out")
    return [{key: value for key, value in asdict(one).items() if value not in (None, "")} for one in found]


def _result(line: int, text: str) -> Analyte:
    found = _LINE.fullmatch(text)
    if found is None:
        remedy = "write name, value, unit and the laboratory's interval: PCV 42 % 32-48"
        raise EntryRefusedError(f"results, line {line}", text[:60], "it cannot be read", remedy)
    low, high = _number(found["low"]), _number(found["high"])
    if found["bound"]:
        low, high = (None, _number(found["bound"])) if found["side"] == "<" else (_number(found["bound"]), None)
    if low is not None and high is not None and low > high:
        raise EntryRefusedError(
            f"results, line {line}", text[:60], "the interval ends before it begins", "turn it round"
        )
    value = found["value"].replace(" ", "")
    bound = value[0] if value[0] in "<>" else ""
    return Analyte(
        found["name"].rstrip(" :"), _number(value.lstrip("<>")) or 0.0, found["unit"] or "", low, high, bound
    )


def _number(text: str | None) -> float | None:
    read = number(text) if text else None
    return None if read is None else float(read)


def _written(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return number_format(text, decimal_pos=len(text.partition(".")[2]))
