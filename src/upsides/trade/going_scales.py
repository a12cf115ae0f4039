"""The going terms that each authority publishes, in order from firmest or fastest to softest or slowest.

A rank is empty where the authority's terms have no agreed order. Where a scale allows it, "X to Y" is a term
of its own halfway between its two words. Ranks are positions on one list, not quantities, and mean nothing
across lists.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from upsides.trade.reading import tidy
from upsides.trade.surface import Surface


@dataclass(frozen=True, slots=True)
class Scale:
    """One authority's terms for one surface.

    Attributes:
        authority: country or authority.
        surface: turf, dirt or synthetic.
        ranks: term to rank, 1 firmest or fastest; None where no order is agreed.
        compounds: whether "X to Y" of two terms is a term too.
        source: where the terms and their order were read.
        confidence: how well that is verified.
        aliases: other words for the terms, tidied.
    """

    authority: str
    surface: Surface
    ranks: Mapping[str, float | None]
    compounds: bool
    source: str
    confidence: str
    aliases: Mapping[str, str] = field(default_factory=dict)

    def term(self, words: str) -> str | None:
        """Return the scale's own term for tidied `words`, or None when it has none."""
        known = self.aliases.get(words, words)
        if known in self.ranks:
            return known
        parts = known.split(" to ")
        return known if self.compounds and len(parts) == 2 and all(part in self.ranks for part in parts) else None

    def rank(self, term: str) -> float | None:
        """Return the rank of one of the scale's terms; a compound lies halfway between its two words."""
        if term in self.ranks:
            return self.ranks[term]
        first, second = (self.ranks[part] for part in term.split(" to "))
        return None if first is None or second is None else (first + second) / 2


def _ordered(*terms: str) -> dict[str, float | None]:
    return {term: float(rank) for rank, term in enumerate(terms, start=1)}


def _unordered(*terms: str) -> dict[str, float | None]:
    return dict.fromkeys(terms)


def _aliases(**words: str) -> dict[str, str]:
    return {tidy(word): term.replace("_", " ") for term, listed in words.items() for word in listed.split(", ")}


_FRENCH: Final = (
    "tres leger",
    "leger",
    "bon leger",
    "bon",
    "bon souple",
    "souple",
    "tres souple",
    "collant",
    "lourd",
    "tres lourd",
)
_NUMBERED: Final = {
    "firm 1": 1.0,
    "firm 2": 2.0,
    "good 3": 3.0,
    "good 4": 4.0,
    "soft 5": 5.0,
    "soft 6": 6.0,
    "soft 7": 7.0,
    "heavy 8": 8.0,
    "heavy 9": 9.0,
    "heavy 10": 10.0,
}
_BEFORE_DECEMBER_2014: Final = {
    "fast 1": 1.0,
    "good 2": 2.0,
    "dead 4": 4.0,
    "dead 5": 5.0,
    "slow 6": 6.0,
    "slow 7": 7.0,
}
_ALL_WEATHER: Final = _ordered("fast", "standard to fast", "standard", "standard to slow", "slow")
_COMMON: Final = "common practice, no source"

_LISTED: Final = (
    Scale(
        "Britain",
        Surface.TURF,
        _ordered("hard", "firm", "good to firm", "good", "good to soft", "soft", "heavy"),
        compounds=False,
        source=f"Ascot racecourse, guide to the going; the letters are {_COMMON}",
        confidence="high",
        aliases=_aliases(firm="f", good_to_firm="gf", good="g", good_to_soft="gs", soft="s", heavy="h"),
    ),
    Scale(
        "Britain",
        Surface.SYNTHETIC,
        _ALL_WEATHER,
        compounds=False,
        source=f"glossary entry on going; the abbreviation is {_COMMON}",
        confidence="medium",
        aliases=_aliases(standard="std"),
    ),
    Scale(
        "Ireland",
        Surface.TURF,
        _ordered("firm", "good", "yielding", "soft", "heavy"),
        compounds=True,
        source="Leopardstown racecourse, the going explained; the compounds are common practice, no source",
        confidence="medium",
    ),
    Scale("Ireland", Surface.SYNTHETIC, _ALL_WEATHER, False, f"the British words; {_COMMON}", "memory"),
    Scale(
        "France",
        Surface.TURF,
        _ordered(*_FRENCH),
        compounds=False,
        source=f"French racing press on the penetrometer, 3 Mar 2009; the English words are {_COMMON}",
        confidence="medium",
        aliases=_aliases(
            leger="firm",
            bon_leger="good to firm",
            bon="good",
            bon_souple="good to soft",
            souple="soft",
            tres_souple="very soft",
            collant="holding",
            lourd="heavy",
        ),
    ),
    Scale(
        "France",
        Surface.SYNTHETIC,
        _ordered("fast", "standard", "slow"),
        compounds=False,
        source=_COMMON,
        confidence="memory",
        aliases=_aliases(fast="psf rapide, rapide", standard="psf standard", slow="psf lente, lente, psf lent, lent"),
    ),
    Scale(
        "Hong Kong",
        Surface.TURF,
        _ordered("firm", "good", "yielding", "soft", "heavy"),
        compounds=True,
        source=f"terms as printed in Hong Kong results; their order is that of the Irish words, {_COMMON}",
        confidence="memory",
    ),
    Scale(
        "Hong Kong",
        Surface.DIRT,
        _unordered("fast", "good", "slow", "wet fast", "wet slow", "sealed", "rain affected", "standard"),
        compounds=False,
        source="terms as printed in Hong Kong results; no order is published",
        confidence="medium",
        aliases=_aliases(rain_affected="rain-affected, affected by rain"),
    ),
    Scale(
        "Japan",
        Surface.TURF,
        _ordered("firm", "good", "yielding", "soft"),
        compounds=False,
        source=f"Maeda et al. 2012, J Equine Vet Sci 32:689; the Japanese words are {_COMMON}",
        confidence="high",
        aliases=_aliases(
            firm="良, 良馬場", good="稍重, 稍, 稍重馬場", yielding="重, 重馬場", soft="不良, 不, 不良馬場"
        ),
    ),
    Scale(
        "Japan",
        Surface.DIRT,
        _ordered("muddy", "good", "sloppy", "fast"),
        compounds=False,
        source="Maeda et al. 2012, J Equine Vet Sci 32:689: wet dirt was quicker than the dry track, "
        f"which is called fast; the Japanese words are {_COMMON}",
        confidence="high",
        aliases=_aliases(fast="良, standard", good="稍重, 稍", muddy="重", sloppy="不良, 不"),
    ),
    Scale(
        "Australia",
        Surface.TURF,
        {**_NUMBERED, **_BEFORE_DECEMBER_2014, **_unordered("firm", "good", "soft", "heavy", "dead", "slow")},
        compounds=True,
        source="Racing Australia, track ratings: numbers 1 to 10, renamed on 1 December 2014",
        confidence="high",
        aliases={str(int(rank)): term for term, rank in _NUMBERED.items()}
        | {f"{term[0]}{int(rank)}": term for term, rank in _NUMBERED.items()},
    ),
    Scale(
        "Australia",
        Surface.DIRT,
        _unordered("fast", "good", "soft", "wet fast"),
        compounds=False,
        source="Racing Australia, track ratings: no simple order, wet fast times are near fast",
        confidence="high",
    ),
    Scale(
        "New Zealand",
        Surface.TURF,
        {
            "fast 1": 1.0,
            "good 2": 2.0,
            "good 3": 3.0,
            "dead 4": 4.0,
            "good 4": 4.0,
            "soft 5": 5.0,
            "slow 8": 8.0,
            "heavy 8": 8.0,
            "heavy 11": 11.0,
            **_unordered("fast", "good", "dead", "soft", "slow", "heavy"),
        },
        compounds=True,
        source="New Zealand penetrometer bands, words aligned with Australia on 4 April 2022",
        confidence="medium",
    ),
    Scale(
        "USA",
        Surface.TURF,
        {"hard": 1.0, "firm": 2.0, "good": 3.0, "yielding": None, "soft": None, "heavy": 6.0},
        compounds=True,
        source="US racecourse glossaries, which list yielding and soft in either order",
        confidence="medium",
        aliases=_aliases(firm="fm", good="gd", yielding="yl", soft="sf", heavy="hy"),
    ),
    Scale(
        "USA",
        Surface.DIRT,
        _unordered("fast", "wet fast", "good", "muddy", "sloppy", "slow", "heavy", "frozen", "sealed"),
        compounds=False,
        source="US racecourse glossaries: sloppy and wet fast can be as quick as fast",
        confidence="medium",
        aliases=_aliases(
            fast="ft", wet_fast="wf", good="gd", muddy="my", sloppy="sy", slow="sl", heavy="hy", frozen="fz"
        ),
    ),
    Scale("USA", Surface.SYNTHETIC, _unordered("fast", "good", "standard", "slow"), False, _COMMON, "memory"),
)
SCALES: Final = {(scale.authority, scale.surface): scale for scale in _LISTED}

AUTHORITIES: Final = {scale.authority.casefold(): scale.authority for scale in _LISTED} | {
    "gb": "Britain",
    "great britain": "Britain",
    "ie": "Ireland",
    "ire": "Ireland",
    "fr": "France",
    "hk": "Hong Kong",
    "jp": "Japan",
    "jpn": "Japan",
    "au": "Australia",
    "aus": "Australia",
    "nz": "New Zealand",
    "us": "USA",
    "united states": "USA",
}
"""Spellings of the authorities, in lower case, two-letter country codes among them."""

FRENCH_BANDS: Final = tuple(zip((2.2, 2.7, 2.9, 3.2, 3.4, 3.7, 4.1, 4.5, 5.0, float("inf")), _FRENCH, strict=True))
"""Upper end of each band of the French penetrometer index, and its term. Source: as for the French terms."""

ACCENTED: Final = {
    "tres leger": "très léger",
    "leger": "léger",
    "bon leger": "bon léger",
    "tres souple": "très souple",
    "tres lourd": "très lourd",
}
"""French terms with their accents; terms are kept without them so that every spelling is one term."""

LOCAL: Final = {
    ("Japan", Surface.TURF): {"firm": "良", "good": "稍重", "yielding": "重", "soft": "不良"},
    ("Japan", Surface.DIRT): {"fast": "良", "good": "稍重", "muddy": "重", "sloppy": "不良"},
}
"""Terms in their own country's writing, where that is not ours."""
