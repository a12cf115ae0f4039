"""What a laboratory measured in blood: lines as people copy them from a report."""

import re
from dataclasses import asdict, dataclass
from typing import Any, Final

from django.utils.formats import number_format

from upsides.errors import EntryRefusedError
from upsides.errors.wording import gettext as _

_NUMBER: Final = r"-?\d{1,9}(?:[.,]\d{1,6})?"
_POWER: Final = r"[x×*·]?\s?10\s?(?:\^|\*{1,2}|[eE])\s?\d{1,2}"
_FLAG: Final = r"(?:HH?|LL?)(?=\s|$)"
_WORD: Final = rf"(?!{_FLAG}|[Rr]ef)[^\s\d()\[\]<>-][^\s()\[\]<>]*"
_UNIT: Final = rf"(?:{_POWER}(?:/[^\s()\[\]]+)?|{_WORD}(?:\s{_WORD})?)"
_BETWEEN: Final = rf"(?P<low>{_NUMBER})\s?(?:-|to)\s?(?P<high>{_NUMBER})"
_ONE_END: Final = rf"(?P<side>[<>]|up to)\s?(?P<bound>{_NUMBER})"
_INTERVAL: Final = rf"[(\[]?\s?(?:[Rr]ef[a-z.]*:?\s?)?(?:{_BETWEEN}|{_ONE_END})\s?[)\]]?"
_LINE: Final = re.compile(
    rf"(?P<name>[^\d\s<>](?:.*?[^\s.:=…])??)[\s.:=…]+(?P<value>[<>]?\s?{_NUMBER})(?P<flag>\s?[*!]|\s{_FLAG})?"
    rf"(?:\s*(?P<unit>{_UNIT}))?(?:\s*(?P<interval>(?<![\d.,]){_INTERVAL}))?"
    rf"(?:\s?(?P<unit_behind>{_UNIT}))?(?P<last_flag>\s?[*!]|\s{_FLAG})?"
)
_WHOLE: Final = re.compile(rf"(?P<value>[<>]?\s?{_NUMBER})")
_DOUBTFUL: Final = re.compile(r"-?[1-9]\d{0,2},\d{3}")
_SIGNS: Final = str.maketrans({"–": "-", "−": "-", "≤": "<", "≥": ">", "\u00a0": " ", "μ": "µ"})
_RAISED: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
MOST: Final = 80
"""Most results of one sample."""
LONGEST_LINE, LONGEST_NAME, LONGEST_UNIT = 160, 60, 24
"""Most characters of a line, a name and a unit."""


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
    def side(self) -> str:
        """Return on which side of the laboratory's own interval the value lies for certain: below, above, or empty."""
        if self.low is not None and (self.value <= self.low if self.bound == "<" else self._is_below(self.low)):
            return "below"
        if self.high is not None and (self.value >= self.high if self.bound == ">" else self._is_above(self.high)):
            return "above"
        return ""

    def _is_below(self, end: float) -> bool:
        return not self.bound and self.value < end

    def _is_above(self, end: float) -> bool:
        return not self.bound and self.value > end

    @property
    def outside(self) -> bool:
        """Return whether the value lies outside the laboratory's own interval for certain."""
        return bool(self.side)

    @property
    def unsure(self) -> bool:
        """Return whether a value beyond what can be measured may lie inside the interval or outside it."""
        if not self.bound or self.side or (self.low is None and self.high is None):
            return False
        if self.bound == "<":
            return self.low is not None or (self.high is not None and self.value > self.high)
        return self.high is not None or (self.low is not None and self.value < self.low)

    def words(self) -> str:
        """Return name, value and unit."""
        return f"{self.name} {self.measured()} {self.unit}".strip()

    def measured(self) -> str:
        """Return the value with what the report puts before it."""
        return self.bound + _shown(self.value)

    def interval(self) -> str:
        """Return the laboratory's interval in words of the trade, empty where the report has none."""
        if self.low is not None and self.high is not None:
            return f"{_shown(self.low)}–{_shown(self.high)}"
        if self.high is not None:
            return f"< {_shown(self.high)}"
        return f"> {_shown(self.low)}" if self.low is not None else ""

    def typed(self) -> str:
        """Return the result as a line that reads back as what it is."""
        ends = [_written(end) for end in (self.low, self.high) if end is not None]
        sign = "" if len(ends) != 1 else "< " if self.high is not None else "> "
        line = " ".join([f"{self.name} {self.bound}{_written(self.value)} {self.unit}".strip(), sign + "-".join(ends)])
        try:
            if _result(1, line.strip()) == self:
                return line.strip()
        except EntryRefusedError:
            pass
        low, high = ("" if end is None else _written(end) for end in (self.low, self.high))
        return "\t".join((self.name, self.bound + _written(self.value), self.unit, low, high))


def read_lines(text: str) -> list[dict[str, Any]]:
    """Read results, one a line: name, value, unit, interval ("PCV 42 % 32-48", "SAA < 5 mg/l < 20").

    What stands in five columns with tabs between them (name, value, unit, low, high) is taken as it stands.

    Returns:
        What `Analyte` holds, as plain values.

    Raises:
        EntryRefusedError: a line is no result, a result comes twice in the same unit, or there are too many.
    """
    lines = [line.strip(" \r") for line in text.split("\n") if line.strip()]
    if len(lines) > MOST:
        raise EntryRefusedError(
            _("results"),
            str(len(lines)),
            _("{most} is the most of one sample", most=MOST),
            _("enter it as two samples"),
        )
    found = [_result(number, line) for number, line in enumerate(lines, start=1)]
    names = [(one.name.casefold(), unit_key(one.unit)) for one in found]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise EntryRefusedError(_("results"), twice[0][0], _("it comes twice"), _("leave one out"))
    return [{key: value for key, value in asdict(one).items() if value not in (None, "")} for one in found]


def unit_key(unit: str) -> str:
    """Return a unit so that other ways of writing the same one are alike: g/dL and g/dl, x10*9/L and 10^9/l.

    Nothing is converted: units that differ stay different.
    """
    plain = re.sub(r"[⁰¹²³⁴-⁹]+", lambda found: "^" + found[0].translate(_RAISED), unit.replace(" ", ""))
    powers = re.sub(r"[x×*·]?10(?:\^|\*{1,2}|[eE])(\d{1,2})", r"10^\1", plain)
    return powers.replace("µ", "u").replace("μ", "u").replace("L", "l")


def _result(line: int, text: str) -> Analyte:
    """Return the result that a line is.

    Raises:
        EntryRefusedError: it is none, or can be read in two ways.
    """
    if len(text) > LONGEST_LINE:
        raise _refused(
            line,
            text,
            _("it has more than {longest_line} characters", longest_line=LONGEST_LINE),
            _("write a result on each line"),
        )
    found = _columns(text) or _parts(text)
    if found is None:
        remedy = _("write name, value, unit and the laboratory's interval: PCV 42 % 32-48")
        raise _refused(line, text, _("it cannot be read"), remedy)
    name, value, unit, low, high, flag = found
    if doubtful := next((one for one in (value, low, high) if _DOUBTFUL.fullmatch(one.lstrip("<> "))), ""):
        reason = _("the comma in {figure} can stand for thousands or for decimals", figure=doubtful.lstrip("<> "))
        raise _refused(line, text, reason, _("write it with a point, or without the comma"))
    ends = _number(low), _number(high)
    if flag and ends == (None, None):
        reason = _("the letter {flag} stands there without the interval that it goes by", flag=flag)
        raise _refused(line, text, reason, _("write the interval, or take the letter out"))
    if ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
        raise _refused(line, text, _("the interval ends before it begins"), _("turn it round"))
    if len(name) > LONGEST_NAME or len(unit) > LONGEST_UNIT:
        raise _refused(line, text, _("its name or its unit is longer than any"), _("write it shorter"))
    bound = value[0] if value[0] in "<>" else ""
    return Analyte(name, _number(value.lstrip("<> ")) or 0.0, unit, *ends, bound)


def _parts(text: str) -> tuple[str, str, str, str, str, str] | None:
    """Return name, value, unit, low, high and the laboratory's letter of a line of words; None where it is none."""
    plain = " ".join(_powers(text.translate(_SIGNS)).split())
    found = _LINE.fullmatch(re.sub(r"\s?/\s?", "/", plain))
    if found is None or (found["unit"] and found["unit_behind"]):
        return None
    unit, flag = found["unit"] or found["unit_behind"] or "", found["flag"] or found["last_flag"] or ""
    low, high = found["low"] or "", found["high"] or ""
    if found["bound"]:
        low, high = (found["bound"], "") if found["side"] == ">" else ("", found["bound"])
    return found["name"].rstrip(" .:=…-"), found["value"], unit, low, high, flag.strip()


def _columns(text: str) -> tuple[str, str, str, str, str, str] | None:
    """Return the same of a line in columns: name, value, unit, low, high; None where these do not stand there."""
    cells = [cell.strip().translate(_SIGNS) for cell in text.split("\t")]
    if not 1 < len(cells) <= 5 or not cells[0] or not _WHOLE.fullmatch(cells[1]):
        return None
    name, value, unit, low, high = [*cells, "", "", ""][:5]
    if not all(end == "" or re.fullmatch(_NUMBER, end) for end in (low, high)):
        return None
    return name, value, unit, low, high, ""


def _powers(text: str) -> str:
    """Return 10⁹ as 10^9."""
    return re.sub(r"(?<=10)[⁰¹²³⁴-⁹]+", lambda found: "^" + found[0].translate(_RAISED), text)


def _refused(line: int, text: str, reason: str, remedy: str) -> EntryRefusedError:
    return EntryRefusedError(_("results, line {line}", line=line), text[:60].replace("\t", " "), reason, remedy)


def _number(text: str) -> float | None:
    return float(text.replace(" ", "").replace(",", ".")) if text else None


def _written(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _shown(value: float) -> str:
    text = _written(value)
    return number_format(text, decimal_pos=len(text.partition(".")[2]))
