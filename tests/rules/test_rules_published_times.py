"""Published times by substance: four kinds that stay apart, each with its edition, source and confidence."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.rules import CAUTION, PublishedKind, override, published_times

ON = date(2025, 6, 1)


@pytest.mark.parametrize(
    ("place", "substance", "route", "on", "kind", "hours"),
    [
        ("Britain", "acepromazine", "", ON, "detection time", 72),  # BHA, November 2011
        ("Britain", "salmeterol", "", ON, "detection time", 48),  # BHA, November 2011
        ("Ireland", "clenbuterol", "oral", ON, "detection time", 312),  # EHSLC: 13 days
        ("France", "clenbuterol", "nebulised", ON, "detection time", 144),  # EHSLC: 6 days
        ("FEI", "meloxicam", "IV or oral", ON, "detection time", 72),  # FEI, 11 May 2011
        ("US", "clenbuterol", "oral", ON, "withdrawal guideline", 336),  # ARCI schedule, 14 days
        ("US", "methylprednisolone", "intra-articular", ON, "withdrawal guideline", 504),  # 21 days
        ("Sweden", "xylazine", "", date(2019, 6, 30), "withdrawal time", 96),  # NEMAC, to 30 June 2019
        ("Sweden", "xylazine", "", date(2019, 7, 1), "withdrawal time", 144),  # NEMAC, from 1 July 2019
        ("Norway", "glucosamine", "", date(2020, 7, 1), "withdrawal time", 0),  # NEMAC, from 1 July 2020
        ("Australia", "clenbuterol", "oral", date(2022, 5, 1), "detection time", 96),  # older advice, superseded
    ],
)
def test_figures_as_published(place: str, substance: str, route: str, on: date, kind: str, hours: float) -> None:
    """A published figure is found in its place and time with its kind, and only once."""
    place = {"Norway": "NO"}.get(place, place)
    found = [time for time in published_times(substance, place, on) if (time.kind, time.route) == (kind, route)]
    assert [time.hours for time in found] == [hours]


def test_what_is_superseded_is_left_out() -> None:
    """Detomidine with butorphanol was 48 hours in 2011 and 72 from September 2012 (BHA)."""
    for on, hours, edition in [(date(2012, 1, 1), 48, "2011"), (date(2013, 1, 1), 72, "2012")]:
        found = published_times("detomidine", "Britain", on)
        assert [(time.hours, time.edition) for time in found] == [(hours, edition)]
    assert published_times("clenbuterol", "Australia", date(2023, 1, 1)) == ()


def test_kinds_stay_apart() -> None:
    """For flunixin the USA answers with a guideline of 32 h, a study with 36 and 120 h; nothing is made of both."""
    found = published_times("flunixin", "US", ON)
    assert [(time.kind, time.hours, time.sample) for time in found] == [
        (PublishedKind.GUIDELINE, 32, ""),
        (PublishedKind.STUDY, 36, "serum"),
        (PublishedKind.STUDY, 120, "urine"),
    ]


def test_what_is_from_memory_says_so() -> None:
    """The guideline on phenylbutazone is marked as memory, in its confidence and in its sentence."""
    (found,) = published_times("phenylbutazone", "US", ON)
    assert found.rule.confidence == "memory"
    assert "From memory" in str(found)


@pytest.mark.parametrize("name", ["Furosemide", "FRUSEMIDE", "Salbutamol", "albutérol", "lignocaine", "dmso", "ACP"])
def test_names_in_any_case_with_accents_and_both_spellings(name: str) -> None:
    """A substance is found in any case, with accents, and by its British or American name."""
    assert published_times(name, "Britain", ON) or published_times(name, "US", ON)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_gives_figures_or_a_plain_refusal(name: str) -> None:
    """Whatever is typed gives figures of that name, none, or a refusal."""
    try:
        found = published_times(name, "Britain", ON)
    except UnreadableError:
        return
    assert all(time.rule.in_force(ON) for time in found)


@pytest.mark.parametrize("name", ["", "  ", "...", None])
def test_no_name_is_refused(name: str) -> None:
    """An empty name, or what is no text, is refused."""
    with pytest.raises(UnreadableError):
        published_times(name, "Britain", ON)


def test_a_yards_own_figure_stands_first() -> None:
    """What the yard's vet has told comes before what is published, and hides none of it."""
    mine = override(
        "withdrawal time",
        "our vet",
        "Britain",
        "the yard's vet, 2025",
        substance="clenbuterol",
        hours=500,
        edition="own",
    )
    kinds = [(time.kind, time.hours) for time in published_times("clenbuterol", "GB", ON, overrides=mine)]
    assert (PublishedKind.WITHDRAWAL, 500) in kinds
    assert len(kinds) == len(published_times("clenbuterol", "GB", ON)) + 1


def test_the_caution_promises_nothing() -> None:
    """The words beside the figures leave the time to the vet and the answer to the trainer, and call nothing safe."""
    text = " ".join(CAUTION).lower()
    assert "vet" in text
    assert "trainer answers" in text
    assert not {"clear", "cleared", "safe"} & set(text.replace(",", " ").replace(".", " ").split())
