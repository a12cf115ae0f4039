"""The invented yard's books as plain frames: what stands, and the diary of its seasons."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from upsides.demo.coming import programmes
from upsides.demo.invented import Invented
from upsides.demo.owners import shares_of_string
from upsides.demo.yardbooks import (
    calling,
    carding,
    clocking,
    exercising,
    going,
    looking,
    measuring,
    medicine,
    places,
    reporting,
    vetting,
    wearing,
)
from upsides.demo.yardbooks.driving import Driving, driven, relieved, wheel_lines, with_driving
from upsides.demo.yardbooks.facts import cautions, declarables, marks
from upsides.demo.yardbooks.lines import bound
from upsides.demo.yardbooks.meant import engagements
from upsides.demo.yardbooks.papers import horses_of, shares_of
from upsides.demo.yardbooks.rationing import batches, rations
from upsides.demo.yardbooks.seasons import Seasons, seasons_of
from upsides.demo.yardbooks.standing import moves, stands

_SETTLING, _WRITING, _STANDING = 7, 15, 6


@dataclass(frozen=True, slots=True)
class Books:
    """What the yard has in its books. People are named by login, horses by source_horse, gallops and feeds by name.

    Args:
        people: everybody: login, name, roles, barn, since (the day from which the books know them), born, weight_kg,
            skill (0 not said, 1 learning to 4 any horse), claim_lb, minimum_lb (of jockeys).
        shifts: login, weekday (Monday 0), starts, ends, rides, first_day.
        days_off: login, first_day, last_day, why.
        bonds: login, kind (retainer, suspension), owner, country, first_day, last_day.
        horses: every horse that the yard ever had: `papers.HORSES`.
        shares: columns of `Invented.shares`, last_day, managing, leased_from.
        boxes: barn, name, position (in the walk of evening stables), isolation.
        stands: source_horse, barn, box, first_day.
        moves: source_horse, to (turned_out, training), first_day, note.
        marks: source_horse, ground, country, value (lb), effective.
        declarables: source_horse, what, happened_on, declared_on (none as long as it was not).
        cautions: source_horse, about, text, skill, first_day, heaviest_kg, apart, apart_from (a source_horse).
        gallops: name, surface, length_m, rise_m, line (latitude, longitude, height of each point), marks (metres),
            slots (the most horses of a morning).
        things: kind, name.
        feed_times: names of the feeds of a day in their order.
        fast_most, rides_each: the most horses in fast work, Monday first; horses that one rider rides in a morning.
        feeds: name, kind, energy_mj_kg, dry_matter, starch, protein.
        batches: feed, number, delivered_on, kg, opened_on, finished_on.
        rations: source_horse, first_day, amounts (time, feed, kg), note.
        engagements: `meant.ENGAGEMENTS`.
        cards: of those that are declared: `carding.CARDS`.
        programmes: the programmes of races to come that it has heard (`coming.programmes`).
        diary: entry (1, 2, ... as recorded), kind, source_horse, gallop, author, happened_at, made_at, recorded_at,
            values (JSON as the kind keeps it, but that rows are named as above), supersedes. Nothing is recorded after
            05:00 UTC of today; what is ordered for a day was written down on the evening before.
        trackers: serial, name, source_horse (none for the spare one), since.
        outings: the mornings with a tracker: `wearing.OUTINGS`.
        calls: what trainer and assistant called before races: `calling.CALLS`.
    """

    people: pl.DataFrame
    shifts: pl.DataFrame
    days_off: pl.DataFrame
    bonds: pl.DataFrame
    horses: pl.DataFrame
    shares: pl.DataFrame
    boxes: pl.DataFrame
    stands: pl.DataFrame
    moves: pl.DataFrame
    marks: pl.DataFrame
    declarables: pl.DataFrame
    cautions: pl.DataFrame
    gallops: pl.DataFrame
    things: pl.DataFrame
    feed_times: tuple[str, ...]
    fast_most: tuple[int, ...]
    rides_each: int
    feeds: pl.DataFrame
    batches: pl.DataFrame
    rations: pl.DataFrame
    engagements: pl.DataFrame
    cards: pl.DataFrame
    programmes: pl.DataFrame
    diary: pl.DataFrame
    trackers: pl.DataFrame
    outings: pl.DataFrame
    calls: pl.DataFrame


def books_of(invented: Invented) -> Books:
    """Write the books of the invented yard; the same world always has the same books."""
    rngs = np.random.default_rng([invented.seed, 5]).spawn(_SETTLING + _WRITING + _STANDING)
    settling, writing, standing = rngs[:_SETTLING], rngs[_SETTLING : _SETTLING + _WRITING], rngs[-_STANDING:]
    seasons = seasons_of(settling, invented)
    horses = horses_of(standing[0], seasons)
    known, allergic = cautions(standing[1], seasons)
    past = invented.stays.filter(pl.col("left").is_not_null())
    owners = invented.shares["owner"].unique().sort().to_list()
    rationed = rations(seasons, measuring.true_masses(standing[2], seasons))
    here = horses.filter(pl.col("gelded_on") >= pl.col("joined"))
    done = exercising.exercises(writing[5], seasons)
    meant = engagements(standing[5], seasons)
    driving = driven(seasons, meant.filter(pl.col("state") == "declared"))
    going_out, by_thumb = np.random.default_rng([invented.seed, 6]).spawn(2)
    worked = [
        done,
        clocking.clocked(by_thumb, seasons, wearing.wearers(seasons)),
        going.weather_lines(np.random.default_rng([invented.seed, 7]), seasons.grid, seasons.hands),
    ]
    return Books(
        people=seasons.staff.people,
        shifts=seasons.staff.shifts,
        days_off=with_driving(seasons.staff.days_off, driving),
        bonds=seasons.staff.bonds,
        horses=horses,
        shares=shares_of(seasons, shares_of_string(standing[3], past, owners), invented),
        boxes=places.boxes(invented.string.height),
        stands=stands(seasons.grid, seasons.events, seasons.own),
        moves=moves(seasons.grid, seasons.events),
        marks=marks(seasons),
        declarables=declarables(standing[4], seasons, here),
        cautions=known,
        gallops=places.gallops(),
        things=places.things(),
        feed_times=places.FEED_TIMES,
        fast_most=places.FAST_MOST,
        rides_each=places.RIDES_EACH,
        feeds=places.feeds(),
        batches=batches(seasons, rationed),
        rations=rationed,
        engagements=meant,
        cards=carding.cards(np.random.default_rng([invented.seed, 10]), seasons, meant, driving),
        programmes=programmes(invented, meant),
        diary=_diary(writing, seasons, allergic, worked, driving),
        trackers=wearing.trackers(seasons),
        outings=wearing.outings(going_out, seasons, done),
        calls=calling.calls(np.random.default_rng([invented.seed, 8]), seasons),
    )


def _diary(
    rngs: list[np.random.Generator], seasons: Seasons, allergic: int, worked: list[pl.DataFrame], driving: Driving
) -> pl.DataFrame:
    """Write the diary; each part has chance of its own, so that a change of one leaves the others as they are."""
    invented = seasons.invented
    trainer = invented.people["name"][0]
    runs = invented.runs.filter((pl.col("outcome") != "withdrawn") & (pl.col("trainer") == trainer))
    runs = runs.join(invented.races.select("race_key", "course"), on="race_key").select(
        "source_horse", "date", "course", "position", "beaten_lengths"
    )
    parts = [
        measuring.masses(rngs[0], seasons),
        measuring.temperatures(rngs[1], seasons),
        measuring.conditions(rngs[2], seasons),
        measuring.pulses(np.random.default_rng([invented.seed, 14]), seasons),
        *looking.rounds_of_late(rngs[3], seasons),
        *looking.now_and_then(rngs[4], seasons),
        *looking.cough_lines(rngs[4], seasons),
        *worked,
        exercising.orders(seasons),
        exercising.words_of_riders(rngs[6], seasons),
        exercising.lessons(rngs[6], seasons),
        medicine.vaccinations(rngs[7], seasons),
        *medicine.worms(rngs[8], seasons),
        medicine.treatments(rngs[9], seasons, allergic),
        *vetting.findings(rngs[10], seasons),
        vetting.bloods(rngs[11], seasons),
        vetting.scopes(rngs[12], seasons),
        vetting.farrier(rngs[12], seasons),
        vetting.teeth(rngs[12], seasons),
        *vetting.shoes(np.random.default_rng([invented.seed, 12]), seasons),
        going.gallop_lines(rngs[13], seasons.grid, seasons.strips, seasons.hands),
        going.journeys(rngs[13], seasons.grid, runs, seasons.hands),
        going.accident(seasons.grid, seasons.hands),
        reporting.race_reports(np.random.default_rng([invented.seed, 9]), seasons.grid, runs, seasons.hands),
        wheel_lines(seasons, driving),
    ]
    return bound(rngs[14], relieved(parts, seasons, driving), invented.yard.zone, invented.today)
