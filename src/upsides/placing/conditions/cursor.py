"""A place in a wording, and the small things that are read there: counts, days, weights, money, ages, sexes.

Each reader moves on only where it has read something; otherwise the place stays and the answer is None.
"""

import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Final

from upsides.errors import UnreadableError
from upsides.placing.amounts import GUINEA, Amount, Money
from upsides.placing.race import Build
from upsides.trade.age import AgeRange
from upsides.trade.distance import Distance

NUMBERS: Final = {
    word: number
    for number, words in enumerate(
        ("", "a an one once", "two twice", "three thrice", "four", "five", "six", "seven", "eight", "nine", "ten"), 0
    )
    for word in words.split()
} | {"eleven": 11, "twelve": 12, "fifteen": 15, "twenty": 20}
SPELT: Final = "|".join(sorted((word for word in NUMBERS if len(word) > 2), key=len, reverse=True))
COUNT: Final = rf"(?:\d{{1,3}}(?![\d,./])|(?:{SPELT})\b)"
YEARS: Final = r"(?:[\s-]*(?:yrs?|years?)\.?[\s-]*olds?\b|[\s-]?y[\s.-]?o['’]?s?\b\.?)"
UP: Final = r"(?:\s*\+|\s*(?:and|&|or)\s+(?:up(?:wards?)?|over|older|above)\b)"
AGES: Final = (
    rf"(?P<low>{COUNT})(?:{YEARS})?(?:\s*(?:-|–|\bto\b|\band\b|&|\bor\b)\s*(?P<high>{COUNT}))?{YEARS}(?P<up>{UP})?"
)
AGED: Final = (
    rf"aged (?P<low>{COUNT})(?:(?:\s*[-–]\s*| (?:to|and) )(?P<high>{COUNT})"
    r"|(?P<up>\s*\+| (?:and|or) (?:more|over|up(?:wards?)?|older|above)\b))?(?: (?:years?|yrs?)(?: old)?)?\b"
)
MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_MONTH: Final = "|".join(f"{month[:3]}(?:{month[3:]})?" if len(month) > 3 else month for month in MONTHS) + "|sept"
DAY: Final = (
    rf"(?:(?P<d1>\d{{1,2}})(?:st|nd|rd|th)?\s+(?:of\s+)?(?P<m1>{_MONTH})\b\.?(?:,?\s+(?P<y1>(?:19|20)\d\d)\b)?"
    rf"|(?P<m2>{_MONTH})\.?\s+(?P<d2>\d{{1,2}})(?:st|nd|rd|th)?\b(?:,?\s+(?P<y2>(?:19|20)\d\d)\b)?"
    r"|(?P<y3>(?:19|20)\d\d)-(?P<m3>\d\d)-(?P<d3>\d\d))"
)
WEIGHT: Final = (
    r"(?:(?P<stones>\d{1,2})\s*st\b\.?(?:\s*(?P<over>\d{1,2})(?:\s*lbs?\b)?(?!\d))?"
    r"|(?P<stone>\d{1,2})-(?P<rest>1[0-3]|\d)(?![\d-])"
    rf"|(?P<lb>\d{{1,3}}(?:\.\d)?|(?:{SPELT})\b)\s*(?:lbs?\b\.?|pounds?\b)"
    r"|(?P<kg>\d{1,2}(?:[.,]\d)?)\s*(?:kgs?\b|kilos?\b|kilograms?\b))"
)
MONEY: Final = (
    r"(?:(?P<sign>[£€$])\s?(?P<sum>\d[\d,]*(?:\.\d\d(?!\d))?)(?![.,]?\d)(?P<thousands>k\b)?"
    r"|(?P<bare>\d{1,3}(?:,\d{3})+|\d{3,7})\s?(?P<named>gns\b|guineas\b|pounds\b|euros?\b|dollars\b|[A-Z]{3}\b)?)"
)
SEXES: Final = r"(?:entire\s+colts?|entires?|colts?|geldings?|fillies|filly|mares?)"
SEX_LIST: Final = rf"{SEXES}(?:(?:\s*,\s*|\s*/\s*|\s+(?:and|or)\s+|\s*&\s*){SEXES}\b)*\b"
DISTANCE: Final = (
    r"(?:(?:\d+\s*(?:miles?|m)\b\s*)?(?:\d+(?:½|\.5)?\s*(?:furlongs?|f)\b\s*)?(?:\d+\s*(?:yards?|yds?|y)\b)"
    r"|(?:\d+\s*(?:miles?|m)\b\s*)?(?:\d+(?:½|\.5)?\s*(?:furlongs?|f)\b)"
    r"|\d(?:½|\.5|\s\d/\d{1,2})?\s*(?:miles?\b|m\b)|\d{3,4}\s*(?:m|metres|meters)\b|(?:a|one)\s+mile\b)"
)
_GAP: Final = r"[\s,]*"
_CURRENCIES: Final = {
    "£": "GBP",
    "€": "EUR",
    "gns": GUINEA,
    "guineas": GUINEA,
    "pounds": "GBP",
    "euro": "EUR",
    "euros": "EUR",
}
DOLLARS: Final = frozenset({"USD", "AUD", "CAD", "HKD", "NZD", "SGD"})
_BUILDS: Final = {"entire": Build.ENTIRE, "colt": Build.ENTIRE, "gelding": Build.GELDING}


@lru_cache(maxsize=4096)
def compiled(pattern: str) -> re.Pattern[str]:
    """Return a pattern that takes no notice of capitals; a blank in it stands for one blank or more, of any kind."""
    return re.compile(pattern.replace(" ", r"\s+"), re.IGNORECASE)


@dataclass(slots=True)
class Cursor:
    """A place in a wording.

    Attributes:
        text: the whole wording.
        at: the place, 0 at its start.
        on: day of the race, by which days without a year are meant.
        currency: that of the race, for sums without one.
    """

    text: str
    at: int
    on: date
    currency: str

    def take(self, pattern: str) -> re.Match[str] | None:
        """Read a pattern here, after blanks and commas."""
        match = compiled(f"{_GAP}(?:{pattern})").match(self.text, self.at)
        if match is not None:
            self.at = match.end()
        return match

    def sees(self, pattern: str) -> bool:
        """Return whether a pattern stands here, after blanks and commas, without reading it."""
        return compiled(f"{_GAP}(?:{pattern})").match(self.text, self.at) is not None

    def count(self) -> int | None:
        """Read a count: 2, two, twice, once, a."""
        match = self.take(rf"(?P<count>{COUNT}|an?\b)")
        return number(match["count"]) if match else None

    def day(self) -> date | None:
        """Read a day; without a year it is the last such day up to the race."""
        before = self.at
        match = self.take(DAY)
        found = _day(match, self.on) if match else None
        if found is None or match is None:
            self.at = before
            return None
        said = None if match["y1"] or match["y2"] or match["y3"] else self.take(r"last(?P<year> year)?\b")
        year = self.on.year - 1 if said and said["year"] else found.year
        return found if year == found.year else _day_of(found, year)

    def weight(self) -> Amount | None:
        """Read a weight."""
        match = self.take(rf"(?:\.{{2,}}|\.(?=\d)|[…:\s-])*{WEIGHT}")
        return weight_of(match) if match else None

    def money(self) -> Money | None:
        """Read a sum of money."""
        before = self.at
        match = self.take(MONEY)
        if match is None:
            return None
        if (match["sum"] or match["bare"]).replace(",", "").isdigit() or match["sign"]:
            return money_of(match, self.currency)
        self.at = before
        return None

    def ages(self) -> AgeRange | None:
        """Read ages: three-year-olds and upwards, 3yo+, 4yo to 6yo."""
        before = self.at
        match = self.take(rf"(?<![\w-]){AGES}")
        found = ages_of(match) if match else None
        if found is None:
            self.at = before
        return found

    def aged(self) -> AgeRange | None:
        """Read ages behind the word for them: aged four or more, aged three to five."""
        before = self.at
        match = self.take(AGED)
        found = ages_of(match) if match else None
        if found is None:
            self.at = before
        return found

    def builds(self) -> frozenset[Build] | None:
        """Read sexes: fillies and mares, colts & geldings."""
        match = self.take(rf"(?P<list>{SEX_LIST})")
        return builds_of(match["list"]) if match else None

    def metres(self) -> float | None:
        """Read a distance in any notation, in metres."""
        before = self.at
        match = self.take(rf"(?P<distance>{DISTANCE})")
        if match is None:
            return None
        try:
            return Distance.parse(re.sub(r"(?i)^(?:a|one)\s+mile", "1 mile", match["distance"].strip())).metres
        except UnreadableError:
            self.at = before
            return None


def _day_of(day: date, year: int) -> date:
    """Return the same day of another year; the last of February where that has no 29th."""
    try:
        return day.replace(year=year)
    except ValueError:
        return date(year, 2, 28)


def number(word: str) -> int:
    """Return the number that a word or digits write."""
    return NUMBERS.get(word.lower()) or int(word)


def ages_of(match: re.Match[str]) -> AgeRange | None:
    """Return the ages that `AGES` read, or None where the older stands first."""
    low, high = number(match["low"]), number(match["high"]) if match["high"] else None
    if low > 15 or (high or low) > 40 or (high is not None and high < low):
        return None
    return AgeRange(low, None if match["up"] else high or low)


def builds_of(text: str) -> frozenset[Build]:
    """Return the sexes that a list of words names."""
    words = re.findall(r"entire|colt|gelding|fill|mare", text.lower())
    return frozenset(_BUILDS.get(word, Build.FEMALE) for word in words)


def weight_of(match: re.Match[str]) -> Amount:
    """Return the weight that `WEIGHT` read."""
    if match["stones"]:
        return Amount(14.0 * int(match["stones"]) + int(match["over"] or 0))
    if match["stone"]:
        return Amount(14.0 * int(match["stone"]) + int(match["rest"]))
    if match["lb"]:
        word = match["lb"].lower()
        return Amount(float(NUMBERS[word]) if word in NUMBERS else float(word))
    return Amount(float(match["kg"].replace(",", ".")), "kg")


def money_of(match: re.Match[str], currency: str) -> Money:
    """Return the sum that `MONEY` read; a dollar is the race's where its currency is a dollar, else an American one."""
    amount = float((match["sum"] or match["bare"]).replace(",", "")) * (1000 if match["thousands"] else 1)
    said = match["sign"] or (match["named"] or "")
    if said in {"$", "dollars"}:
        return Money(amount, currency if currency in DOLLARS else "USD")
    if len(said) == 3 and said.isupper():
        return Money(amount, said)
    return Money(amount, _CURRENCIES.get(said.lower(), currency) if said else currency)


def _day(match: re.Match[str], on: date) -> date | None:
    day = next(match[name] for name in ("d1", "d2", "d3") if match[name])
    word = next(match[name] for name in ("m1", "m2", "m3") if match[name]).lower()
    year = match["y1"] or match["y2"] or match["y3"]
    month = int(word) if word.isdigit() else 1 + next(i for i, name in enumerate(MONTHS) if name[:3] == word[:3])
    try:
        if year:
            return date(int(year), month, int(day))
        return max(
            found for found in (date(on.year, month, int(day)), date(on.year - 1, month, int(day))) if found <= on
        )
    except ValueError:
        return None
