from datetime import UTC, date, datetime

import polars as pl
import pytest

from upsides.errors import HorseAmbiguousError, HorseUnknownError, IdentityError
from upsides.results import identity, importing
from upsides.results.library import Library

NOW = datetime(2020, 1, 1, 6, tzinfo=UTC)


def fill(library: Library, source: str, horses: list[dict[str, object]]) -> None:
    """Add one race for each horse, all on different days."""
    races = pl.DataFrame(
        {
            "race_id": [str(i) for i in range(len(horses))],
            "date": [date(2019, 1, i + 1) for i in range(len(horses))],
        }
    )
    common = {"outcome": "finished", "position": 1}
    runs = [
        common | {"race_key": f"{source}:{i}", "source_horse": f"{source}:{i}"} | horse
        for i, horse in enumerate(horses)
    ]
    importing.add_frames(library, races, pl.DataFrame(runs, infer_schema_length=None), source)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Old Oak's Pride", "OLD OAKS PRIDE"),
        ("Béla", "bela"),
        ("Night-Walk", "Night Walk"),
        ("Ｍｏｓｓ", "moss"),
    ],
)
def test_names_are_compared_plain(one: str, other: str) -> None:
    """Case, accents, punctuation, blanks and full-width letters make no difference."""
    assert identity.plain_name(one) == identity.plain_name(other)


def test_merge_and_its_reversal(library: Library) -> None:
    """A merge gives both horses one key at once, in runs as well; its reversal leaves no trace in them."""
    fill(library, "here", [{"horse_name": "Alder"}, {"horse_name": "Birch"}])
    fill(library, "there", [{"horse_name": "Alder"}])
    before = library.runs().sort("race_key").collect()
    number = identity.merge(library, "here:0", "there:0", "same horse", NOW)
    keys = dict(library.runs().select("source_horse", "horse_key").collect().iter_rows())
    assert keys == {"here:0": "here:0", "here:1": "here:1", "there:0": "here:0"}
    identity.unmerge(library, number, "seen again", NOW)
    assert library.runs().sort("race_key").collect().equals(before)
    assert identity.links(library)["action"].to_list() == ["merge", "unmerge"]


def test_merges_chain(library: Library) -> None:
    """A horse merged into one that is merged further has the last one's key, and taking back one link splits
    it.
    """
    for source in ("a", "b", "c"):
        fill(library, source, [{"horse_name": "Alder"}])
    identity.merge(library, "b:0", "c:0", "", NOW)
    number = identity.merge(library, "a:0", "b:0", "", NOW)
    assert library.runs().collect()["horse_key"].unique().to_list() == ["a:0"]
    identity.unmerge(library, number, "", NOW)
    assert sorted(library.runs().collect()["horse_key"]) == ["a:0", "b:0", "b:0"]


def test_merges_that_cannot_be(library: Library) -> None:
    """An unknown horse, a pair that is one already, and two that met in a race are refused."""
    races = pl.DataFrame({"race_id": ["1"], "date": [date(2019, 1, 1)]})
    runs = pl.DataFrame(
        {
            "race_key": ["here:1"] * 2,
            "source_horse": ["here:0", "here:1"],
            "outcome": ["finished"] * 2,
            "position": [1, 2],
        }
    )
    importing.add_frames(library, races, runs, "here")
    fill(library, "there", [{"horse_name": "Alder"}])
    with pytest.raises(IdentityError, match="both are in race here:1"):
        identity.merge(library, "here:0", "here:1", "", NOW)
    with pytest.raises(IdentityError, match="no horse 'here:9'"):
        identity.merge(library, "here:9", "here:1", "", NOW)
    identity.merge(library, "here:0", "there:0", "", NOW)
    with pytest.raises(IdentityError, match="one horse already"):
        identity.merge(library, "there:0", "here:0", "", NOW)
    with pytest.raises(IdentityError, match="no merge 7 in force"):
        identity.unmerge(library, 7, "", NOW)


def test_links_are_suggested_where_nothing_contradicts(library: Library) -> None:
    """Names that agree are proposed unless suffix, year or side contradict, with how much else agrees."""
    fill(
        library,
        "here",
        [
            {"horse_name": "Alder", "suffix": "IRE", "foaled": 2015, "sex": "colt"},
            {"horse_name": "BIRCH", "suffix": "GB", "foaled": 2014, "sex": "mare"},
            {"horse_name": "Cedar", "suffix": None, "foaled": None, "sex": None},
            {"horse_name": "Dogwood", "suffix": "FR", "foaled": 2013, "sex": "filly"},
        ],
    )
    fill(
        library,
        "there",
        [
            {"horse_name": "alder", "suffix": "IE", "foaled": 2015, "sex": "gelding"},
            {"horse_name": "Birch", "suffix": "USA", "foaled": 2014, "sex": "mare"},
            {"horse_name": "Cedar", "suffix": "GB", "foaled": 2014, "sex": "horse"},
            {"horse_name": "Dogwood", "suffix": "FR", "foaled": 2013, "sex": "gelding"},
        ],
    )
    links = {(link.kept, link.merged): link.confidence for link in identity.suggest_links(library)}
    assert links == {("here:0", "there:0"): "high", ("here:2", "there:2"): "low"}


def test_a_name_that_two_bear_is_not_linked(library: Library) -> None:
    """Where the other source has two horses of the name, neither is proposed."""
    fill(library, "here", [{"horse_name": "Alder"}])
    fill(library, "there", [{"horse_name": "Alder", "foaled": 2014}, {"horse_name": "Alder", "foaled": 2016}])
    assert identity.suggest_links(library) == []


def test_what_a_person_types_is_resolved(library: Library) -> None:
    """A key, a number of the source, a name in any case, and a name with suffix all lead to the horse."""
    fill(library, "here", [{"horse_name": "Alder", "suffix": "IRE", "foaled": 2015}, {"horse_name": "Birch"}])
    for text in ("here:0", "0", "alder", " ALDER ", "Alder (IRE)", "alder (ie)"):
        assert identity.find(library, text).key == "here:0"
    horse = identity.find(library, "alder")
    assert (horse.name, horse.suffix, horse.foaled, horse.runs, horse.last_run) == (
        "Alder",
        "IRE",
        2015,
        1,
        "2019-01-01",
    )


def test_doubtful_names_are_listed(library: Library) -> None:
    """A name that two bear is answered with both, year and last run; an unknown one with those near to it."""
    fill(library, "here", [{"horse_name": "Alder", "foaled": 2015}, {"horse_name": "Alder", "foaled": 2011}])
    with pytest.raises(HorseAmbiguousError, match=r"foaled 2015, last ran 2019-01-01.*foaled 2011"):
        identity.find(library, "Alder")
    with pytest.raises(HorseUnknownError, match="near to it: Alder"):
        identity.find(library, "Aldr")
    for nothing in ("", "()", "Zelkova"):
        with pytest.raises(HorseUnknownError):
            identity.find(library, nothing)
