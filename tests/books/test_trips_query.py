"""What the books say of trips: which model answers, what it is told of the yard's horses, and to whom."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import numpy as np
import polars as pl
import pytest

import trip_yard
import worlds
from upsides.books import clock
from upsides.books.models import Horse, Inside, Lot, Person, Sale, Yard
from upsides.books.queries import moments, trips
from upsides.books.queries import string as strings
from upsides.books.queries.horse_trip import HorseTrip, horse_trip
from upsides.books.queries.trip_family import Family, lot_family
from upsides.books.queries.visitors import visitor
from upsides.books.services.diary import Draft, record
from upsides.books.services.releases import release
from upsides.errors import FitMissingError, TripMissingError
from upsides.trip import cases, shape
from upsides.trip.kept import MANIFEST
from upsides.trip.pulls import best_furlongs, range_furlongs
from upsides.trip.traits import TRAITS

NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)


@pytest.fixture
def days(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock goes on by a minute with every look at it."""
    ticks = iter(range(10**6))
    monkeypatch.setattr(clock, "now", lambda: NOON + timedelta(minutes=next(ticks)))
    Yard.objects.update(fixed_day=None)


def of(yard: worlds.Yard, horse: Horse, login: str = "trainer", *, barn: bool = False, **asked: object) -> HorseTrip:
    who = visitor(Person.objects.get(login=login), barn=barn)
    found = horse_trip(yard.library, who, moments.now(), horse.pk, **asked)
    assert found is not None
    return found


def enter(kind: str, horse: Horse, values: dict[str, object], login: str = "trainer") -> None:
    record(Draft(uuid4(), kind, horse.pk, values, clock.now()), Person.objects.get(login=login))


def scores(high: int) -> dict[str, object]:
    """Return scores that all point at longer trips (`high` 9) or at shorter ones (1)."""
    return {trait.name: high if trait.longer >= 0 else 10 - high for trait in TRAITS}


def test_the_string_has_what_the_room_says(with_trips: worlds.Yard) -> None:
    """Best trip and ranges of a horse in the list are those that the room gives for its runs and its parents."""
    who = visitor(Person.objects.get(login="trainer"), barn=False)
    listed = strings.string(with_trips.library, who, moments.now()).listed
    model = trip_yard.trips_of(with_trips.levels)
    made = cases.Cases(model.model, model.figures, shape.unlearned(model.model.given))
    for one in (listed[0], listed[40], next(one for one in listed if one.raced is None)):
        frame = pl.DataFrame(
            {"horse_key": [one.horse.horse_key], "sex": [one.horse.sex], "suffix": [None], "foaled": [one.horse.foaled]}
        )
        told = cases.Told(sire=one.horse.sire, dam=one.horse.dam)
        post = made.of(frame, {one.horse.horse_key: told})[0].answer()
        assert one.trip is not None
        assert one.trip.best == pytest.approx(best_furlongs(post), rel=1e-12)
        assert (one.trip.low, one.trip.high) == pytest.approx(range_furlongs(post, 0.5), rel=1e-12)
        assert np.dot(one.trip.furlongs, one.trip.share) == pytest.approx(post.density @ 2.0**post.grid)


def test_an_unraced_horse_is_answered_from_its_parents(with_trips: worlds.Yard) -> None:
    """A horse that the library does not know is read from its sire and dam by name: stout parents, a longer trip."""
    parents = sorted({*Horse.objects.values_list("sire", flat=True)} - {""}, key=trip_yard.stamina)
    day = moments.now().day
    foals = [
        Horse.objects.create(
            horse_key=f"new:{n}", name=f"New {n}", foaled=day.year - 2, sex="colt", sire=sire, joined=day
        )
        for n, sire in enumerate(["Nobody's Sire", parents[0], parents[-1]])
    ]
    found, missing = trips.trips(with_trips.library, moments.now(), foals)
    unknown, short, long = (found[one.pk] for one in foals)
    assert missing == ""
    assert short.best < unknown.best < long.best
    family = of(with_trips, foals[2]).family
    assert family is not None
    assert family.known == pytest.approx(trip_yard.KNOWN / 4)  # half of one parent, of whom that share is known
    assert [(one.side, one.name, one.known) for one in family.parents] == [
        ("sire", parents[-1], pytest.approx(trip_yard.KNOWN))
    ]


def test_gene_tests_of_kin_are_told(with_trips: worlds.Yard) -> None:
    """A test of the sire makes the gene a piece of evidence of all of his foals, and C/C asks for shorter trips."""
    horse = trip_yard.runner(with_trips)
    before = of(with_trips, horse)
    sibling = Horse.objects.filter(sire=horse.sire).exclude(pk=horse.pk).first()
    sibling = sibling or Horse.objects.create(
        horse_key="s:1", name="Sibling", foaled=2024, sex="filly", sire=horse.sire, joined=moments.now().day
    )
    enter("gene_test", sibling, {"whom": "sire", "site": "insertion", "genotype": "2"})
    after = of(with_trips, horse)
    assert before.answered is not None
    assert after.answered is not None
    assert "gene" not in before.answered.available
    assert "gene" in after.answered.available
    assert after.answered.trip.best < before.answered.trip.best
    assert [(one.whom, one.name) for one in after.tests] == [("sire", horse.sire)]


def test_shape_counts_as_people_last_saw_it(with_trips: worlds.Yard, days: None) -> None:
    """Of each person the latest score counts, of several people the mean; later scores replace earlier ones."""
    horse = trip_yard.runner(with_trips)
    enter("shape", horse, scores(1))
    enter("shape", horse, scores(9))
    enter("shape", horse, {"frame": 5, "walk": 7}, "carer")
    now = moments.now()
    facts = trips.yard_of(with_trips.library, now, [horse], trip_yard.trips_of(with_trips.levels).model.given).facts[
        horse.pk
    ]
    told = dict(facts.traits)
    assert (told["frame"], told["walk"], told["leg_length"]) == (7.0, 8.0, 9.0)
    assert len(told) == len(TRAITS)


def test_a_yards_own_horses_say_how_much_shape_tells(with_trips: worlds.Yard) -> None:
    """From eight scored horses that ran on, shape tells as they bear out; before that as common practice has it."""
    reading = shape.unlearned(trip_yard.trips_of(with_trips.levels).model.given)
    by_trip = sorted(
        (trip_yard.runner(with_trips, place) for place in range(8)),
        key=lambda one: of(with_trips, one).answered.trip.best,
    )
    for place, horse in enumerate(by_trip):
        answered = of(with_trips, by_trip[0]).answered
        assert answered is not None
        assert answered.shape == pytest.approx((reading.mean, reading.sd, 0))
        enter("shape", horse, scores(1 + place))
    answered = of(with_trips, by_trip[0]).answered
    assert answered is not None
    mean, sd, horses = answered.shape
    assert horses == 8
    assert mean > reading.mean  # those made for longer trips want longer trips
    assert sd < reading.sd


def test_pieces_left_out(with_trips: worlds.Yard) -> None:
    """Without its runs the answer moves by what the runs are said to have moved it; what it has not got is ignored."""
    horse = trip_yard.runner(with_trips)
    whole, less = of(with_trips, horse).answered, of(with_trips, horse, without=["runs", "measures"]).answered
    assert whole is not None
    assert less is not None
    pull = next(one["pull_furlongs"] for one in whole.value["evidence"] if one["name"] == "runs")
    assert less.value["without"] == ["runs"]
    assert less.whole.best == whole.trip.best
    assert whole.trip.best - less.trip.best == pytest.approx(pull)


def test_a_trip_can_be_asked_for(with_trips: worlds.Yard) -> None:
    """A trip asked for stands among the usual ones, with a figure between those of its neighbours or above both."""
    answered = of(with_trips, trip_yard.runner(with_trips), what_if=[6.5]).answered
    assert answered is not None
    figures = {one["furlongs"]: one["figure_lb"] for one in answered.value["what_if"]}
    assert list(figures) == sorted(figures)
    assert min(figures[6.0], figures[7.0]) <= figures[6.5] <= max(figures.values()) + 0.5


def test_the_page_holds_what_is_known_at_its_moment(with_trips: worlds.Yard) -> None:
    """Runs are those before the day, earliest first, each with its figure and its distance."""
    horse = trip_yard.runner(with_trips)
    found = of(with_trips, horse)
    days_run = [run["date"] for run in found.runs]
    assert len(found.runs) == found.answered.value["runs"]
    assert days_run == sorted(days_run)
    assert days_run[-1] < moments.now().day
    assert all(run["figure_lb"] is not None and run["distance_m"] for run in found.runs)
    assert found.notes == (trip_yard.NOTE,)
    assert {row.topic for row in found.rules} == {"trip"}
    assert "memory" in {row.confidence for row in found.rules}


def test_it_is_inside_information(with_trips: worlds.Yard) -> None:
    """Closed to riders, carers and owners, and on a barn phone; open by a release of figures, for that horse alone."""
    horse, other = Horse.objects.order_by("pk")[:2]
    trainer = Person.objects.get(login="trainer")
    for login, barn in (("rider", False), ("carer", False), ("owner", False), ("trainer", True)):
        found = of(with_trips, horse, login, barn=barn)
        assert not found.open
        assert (found.answered, found.family, found.runs, found.tests) == (None, None, (), ())
    release(trainer, Inside.FIGURES, horse=horse, person=Person.objects.get(login="rider"))
    assert of(with_trips, horse, "rider").answered is not None
    assert of(with_trips, other, "rider").answered is None
    owner = visitor(Person.objects.get(login="owner"), barn=False)
    assert horse_trip(with_trips.library, owner, moments.now(), other.pk) is None
    bests = {one.horse.pk: one.trip for one in strings.string(with_trips.library, owner, moments.now()).listed}
    assert set(bests.values()) == {None}


def lot(sire: str, dam: str = "") -> Lot:
    number = uuid4().hex
    sale = Sale.objects.create(name=f"Moor End {number}", year=2030, imported_at=NOON, file="l.csv", sha256=number)
    return Lot.objects.create(sale=sale, number="1", sire=sire, dam=dam, sex="filly", foaled=2029)


def family_of_lot(yard: worlds.Yard, one: Lot, login: str = "trainer") -> Family | None:
    return lot_family(yard.library, visitor(Person.objects.get(login=login), barn=False), moments.now(), one)


def test_a_lot_is_told_from_its_parents(with_trips: worlds.Yard) -> None:
    """A lot has the trip of a foal of its parents, twice as well known from two as from one; from unknown ones none."""
    parents = sorted({*Horse.objects.values_list("sire", flat=True)} - {""}, key=trip_yard.stamina)
    dam = next(name for name in Horse.objects.order_by("pk").values_list("dam", flat=True) if name)
    one, both, stout = (
        family_of_lot(with_trips, lot(*pair)) for pair in ((parents[0],), (parents[0], dam), (parents[-1],))
    )
    assert one is not None
    assert both is not None
    assert stout is not None
    assert one.trip.best < stout.trip.best
    assert (one.known, both.known) == pytest.approx((trip_yard.KNOWN / 4, trip_yard.KNOWN / 2))
    assert sum(one.kinds.values()) == pytest.approx(1.0)
    assert one.parents[0].foals.ran >= 1
    assert family_of_lot(with_trips, lot("Nobody's Sire", "Nobody's Dam")) is None
    assert family_of_lot(with_trips, lot(parents[0]), "vet") is None


def test_one_object_as_long_as_nothing_changes(with_trips: worlds.Yard) -> None:
    """What was worked out once is not worked out again, until something is learned of a horse."""
    horses = list(Horse.objects.order_by("pk")[:5])
    first, _ = trips.trips(with_trips.library, moments.now(), horses)
    again, _ = trips.trips(with_trips.library, moments.now(), horses)
    assert all(first[one.pk] is again[one.pk] for one in horses)
    enter("gene_test", horses[0], {"whom": "horse", "site": "snp", "genotype": "T/T"})
    after, _ = trips.trips(with_trips.library, moments.now(), horses)
    assert after[horses[0].pk].best > first[horses[0].pk].best


def test_the_model_that_answers_is_that_of_the_fit(tmp_path: Path) -> None:
    """A model answers with its fit and no earlier; one made again is read again; a fit without one says so."""
    folder = worlds.fitted(tmp_path / "library").folder
    day = max(date.fromisoformat(place.name) for place in (folder / "fits").iterdir() if place.is_dir())
    with pytest.raises((FitMissingError, TripMissingError)):  # fits of earlier days know nothing of trips
        trips.read_trips(folder, day - timedelta(days=1))
    found = trips.read_trips(folder, day)
    assert found.model.as_of == day
    assert trips.read_trips(folder, day + timedelta(days=30)) is found
    kept = folder / "fits" / str(day) / MANIFEST
    fresh = kept.with_suffix(".again")
    fresh.write_text(kept.read_text())
    fresh.replace(kept)
    assert trips.read_trips(folder, day) is not found
    kept.unlink()
    with pytest.raises(TripMissingError, match="upsides fit"):
        trips.read_trips(folder, day)


def test_without_a_model_the_reason_is_told(loaded: worlds.Yard) -> None:
    """Where nothing was learned of trips the list has none, and a horse's page says what is missing."""
    horse = Horse.objects.order_by("pk")[0]
    found, missing = trips.trips(loaded.library, moments.now(), [horse])
    assert found == {}
    assert "upsides fit" in missing
    one = of(loaded, horse)
    assert (one.open, one.answered, one.missing) == (True, None, missing)
