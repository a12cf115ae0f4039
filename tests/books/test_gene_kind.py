"""Gene tests in the books: what can be entered, what it says, and what it says of kin by Mendel's rules."""

from datetime import UTC, datetime, timedelta
from itertools import product
from uuid import uuid4

import pytest

from upsides.books import clock
from upsides.books.diary import kind_of, read
from upsides.books.diary.gene import COPIES, GENOTYPES, SITES, WHOM
from upsides.books.models import Entry, Horse, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.genes import chances, gene_tests, gene_tests_of
from upsides.books.services.diary import Draft, record, withdraw
from upsides.errors import EntryRefusedError
from upsides.trip import cases
from upsides.trip.defaults import defaults

NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)
C = 0.47
"""Share of C among alleles (BMC Veterinary Research 2015, doi 10.1186/s12917-015-0428-3)."""
T = 1 - C
SURE = 1e-9
"""An error of tests that is as good as none."""


@pytest.fixture
def days(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A yard whose clock begins at noon and goes on by a minute with every look at it."""
    ticks = iter(range(10**6))
    monkeypatch.setattr(clock, "now", lambda: NOON + timedelta(minutes=next(ticks)))
    Yard.objects.update(fixed_day=None)


def trainer() -> Person:
    return Person.objects.get(login="trainer")


def foal(name: str, sire: str = "", dam: str = "", foaled: int = 2027, sex: str = "filly") -> Horse:
    day = NOON.date()
    return Horse.objects.create(
        horse_key=f"g:{name}", name=name, foaled=foaled, sex=sex, sire=sire, dam=dam, joined=day
    )


def enter(horse: Horse, whom: str, genotype: str, site: str = "snp") -> Entry:
    values = {"whom": whom, "site": site, "genotype": genotype, "laboratory": ""}
    return record(Draft(uuid4(), "gene_test", horse.pk, values, clock.now()), trainer())


def told(horse: Horse, error: float = SURE) -> tuple[float, ...] | None:
    now = moments.now()
    return chances(gene_tests(now), moments.rows(Horse, now), C, error).get(horse.pk)


@pytest.mark.parametrize(
    ("site", "typed", "kept"),
    [
        ("snp", "C/C", "C/C"),
        ("snp", "t/c", "C/T"),
        ("snp", "CT", "C/T"),
        ("snp", " TT ", "T/T"),
        ("insertion", "2", "C/C"),
        ("insertion", "1", "C/T"),
        ("insertion", "0", "T/T"),
        ("insertion", "T/T", "T/T"),
    ],
)
def test_a_genotype_is_read_as_laboratories_write_it(site: str, typed: str, kept: str) -> None:
    """Either order, with or without a stroke; of the insertion two, one and no copies go with C/C, C/T and T/T."""
    found = read("gene_test", {"whom": "dam", "site": site, "genotype": typed, "laboratory": " Moor Lab "})
    assert found.kept() == {"whom": "dam", "site": site, "genotype": kept, "laboratory": "Moor Lab"}
    assert kind_of("gene_test").kept_as(found.kept()) == found


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"whom": "granddam"}, "who was tested"),
        ({"whom": ""}, "who was tested"),
        ({"site": "speed"}, "what was looked for"),
        ({"genotype": "A/C"}, "what was found"),
        ({"genotype": "2"}, "what was found"),
        ({"genotype": "CTT"}, "what was found"),
        ({"genotype": None}, "what was found"),
        ({"laboratory": "x" * 81}, "laboratory"),
        ({"laboratory": "no\x00text"}, "laboratory"),
        ({"laboratory": 7}, "laboratory"),
        ({"coat": "bay"}, "coat"),
    ],
)
def test_what_no_test_can_say_is_refused(wrong: dict[str, object], field: str) -> None:
    """Nobody who could be tested, nothing that is looked for, no genotype, no name: refused with reason and remedy."""
    right = {"whom": "horse", "site": "snp", "genotype": "C/C", "laboratory": ""}
    read("gene_test", right)
    with pytest.raises(EntryRefusedError) as refused:
        read("gene_test", right | wrong)
    assert refused.value.field == field
    assert refused.value.remedy in str(refused.value)


def test_a_test_says_what_was_looked_for() -> None:
    """Every test reads back whose it is, what was looked for, and what was found; copies where they were counted."""
    said = set()
    for whom, site, genotype in product(WHOM, SITES, GENOTYPES):
        words = read("gene_test", {"whom": whom, "site": site, "genotype": genotype}).words()
        assert str(WHOM[whom]) in words
        assert str(SITES[site]) in words
        assert genotype in words
        assert ("cop" in words) == (site == "insertion")
        said.add(words)
    assert len(said) == len(WHOM) * len(SITES) * len(GENOTYPES)
    assert set(COPIES.values()) == set(GENOTYPES)
    with_laboratory = read("gene_test", {"whom": "sire", "site": "snp", "genotype": "CC", "laboratory": "Moor Lab"})
    assert with_laboratory.words().endswith("Laboratory: Moor Lab.")


def test_its_own_test_is_read_as_elsewhere(days: None) -> None:
    """A horse's own test, wrong once in two hundred, leaves the chances that `upsides trip --gene` reckons with."""
    horse, given = foal("Own"), defaults(NOON.date())
    for genotype in GENOTYPES:
        entry = enter(horse, "horse", genotype)
        found = chances(gene_tests(moments.now()), [horse], given.gene_share, given.gene_error)[horse.pk]
        assert found == pytest.approx(cases.tested(genotype, given), abs=1e-12)
        withdraw(entry, trainer(), client_id=uuid4(), made_at=clock.now())
    assert told(horse) is None


def test_a_tested_parent_tells_by_mendel(days: None) -> None:
    """A foal of a C/C sire and an unknown mare is C/C by the share of C, else C/T; of T/T and C/C it is C/T."""
    half, whole = foal("Half", sire="Alder"), foal("Whole", sire="Birch", dam="Cedar")
    enter(half, "sire", "C/C")
    enter(whole, "sire", "TT")
    enter(whole, "dam", "2", "insertion")
    assert told(half) == pytest.approx((C, T, 0.0), abs=1e-7)
    assert told(whole) == pytest.approx((0.0, 1.0, 0.0), abs=1e-7)


def test_a_half_sibling_tells_through_the_dam(days: None) -> None:
    """One foal of a mare is T/T, so the mare hands down T with chance T + C/2, and her other foal is T/T by that.

    The mare of a T/T foal is T/T with chance T and C/T with chance C: P(T/T) T to P(C/T) T / 2 is T^3 to C T^2.
    """
    first, second = foal("First", dam="Damson"), foal("Second", dam="damson")
    enter(first, "horse", "T/T")
    gives_t = T + C / 2
    assert told(second) == pytest.approx(((1 - gives_t) * C, gives_t * C + (1 - gives_t) * T, gives_t * T), abs=1e-7)


def test_who_is_no_kin_is_told_nothing(days: None) -> None:
    """A test says nothing of a horse with other parents, nor of one whose sire bears the name in another country."""
    enter(foal("Kin", sire="Alder (IRE)", dam="Elm"), "sire", "C/C")
    strangers = foal("Other", sire="Birch", dam="Fir"), foal("Abroad", sire="Alder (USA)"), foal("Parentless")
    assert [told(one) for one in strangers] == [None, None, None]
    assert told(foal("Sibling", sire="Alder (IRE)")) == pytest.approx((C, T, 0.0), abs=1e-7)


def test_a_mare_of_the_yard_is_the_dam_that_bears_her_name(days: None) -> None:
    """A mare's own test counts for her foal; a filly of the same name born after it is another animal."""
    mare, young = foal("Gean", foaled=2019, sex="mare"), foal("Hazel", foaled=2028)
    child, other = foal("Child", dam="Gean"), foal("Other", dam="Hazel")
    enter(mare, "horse", "T/T")
    enter(young, "horse", "T/T")
    assert told(child) == pytest.approx((0.0, C, T), abs=1e-7)
    assert told(other) is None


def test_tests_that_disagree_are_a_question(days: None) -> None:
    """Two tests of one sire, entered with two foals of his, stand together, and that they differ is told."""
    one, two = foal("One", sire="Alder"), foal("Two", sire="Alder")
    enter(one, "sire", "C/C")
    now = moments.now()
    found = gene_tests_of(two, gene_tests(now), moments.rows(Horse, now))
    assert [(each.whom, each.name, each.disagree) for each in found] == [("sire", "Alder", False)]
    last = enter(two, "sire", "1", "insertion")
    found = gene_tests_of(two, gene_tests(now), moments.rows(Horse, now))
    assert [(len(each.tests), each.disagree) for each in found] == [(2, True)]
    both = told(one, error=0.005)
    withdraw(last, trainer(), client_id=uuid4(), made_at=clock.now())
    alone = told(one, error=0.005)
    assert both is not None
    assert alone is not None
    assert both[0] < alone[0]


def test_a_test_counts_from_when_it_was_entered(days: None) -> None:
    """As of a moment before it was recorded there is no test, and after a withdrawal there was one before it."""
    horse = foal("Late")
    before = clock.now()
    entry = enter(horse, "horse", "C/C")
    between = clock.now()
    withdraw(entry, trainer(), client_id=uuid4(), made_at=clock.now())
    assert [len(gene_tests(moments.as_of(at))) for at in (before, between, clock.now())] == [0, 1, 0]
