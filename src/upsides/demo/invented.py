"""The invented world: its results, the invented yard's own books, and the truth behind both."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from upsides.demo.ancestry import register
from upsides.demo.names import person_names
from upsides.demo.owners import shares_of_string
from upsides.demo.people import login, people_of_yard, staff_count
from upsides.demo.sale import Sale, sale_of_yearlings
from upsides.demo.season import race_all
from upsides.demo.sizes import SIZES
from upsides.demo.stays import stays_of_yard, work_of_yard
from upsides.demo.truths import TRUTH, truth_draws, truth_horses
from upsides.demo.world import new_world
from upsides.demo.writing import Row
from upsides.demo.yard import YARD, Yard, string_of_yard
from upsides.results.schema import RACES, RUNS, polars_schema

TODAY = date(2026, 6, 20)
"""The invented yard's own today; the last race was run before it."""


@dataclass(frozen=True, slots=True)
class Invented:
    """The invented world, values only. What the yard wrote down day by day is made of it by `yardbooks.books_of`.

    Args:
        seed: fixes everything.
        first: first day of racing.
        today: its own today.
        races: columns of `upsides.results.schema.RACES`.
        runs: columns of `upsides.results.schema.RUNS`.
        register: every horse of the country and its ancestors: source_horse, name, foaled, sex (male or female), sire,
            dam.
        yard: the yard's name, zone, country and barns.
        string: the yard's own horses: source_horse, name, foaled, sex, sire, dam, joined (the day it came), barn,
            box, carer (login of who looks after it).
        people: everybody of the yard and its owners: login, name, roles (of trainer, assistant, head_person, carer,
            rider, secretary, vet, owner), barn ("" for none).
        shares: source_horse, owner (a login), numerator, denominator, kind (sole, partnership, syndicate, lease),
            first_day; the parts of each horse of the string add up to one.
        stays: every horse that the yard ever had, with the day it came and the day it left (`stays.stays_of_yard`).
        work: the truth of their work week by week: days in work, days of fast work (`stays.work_of_yard`).
        sale: a sale of yearlings to come, with the yard's shortlist and what was seen.
        truth: one row a start and one a horse on `today` (race_key empty): race_key, source_horse, date, habit (of
            its trainer that day), level_lb (true level at best trip and ground, weight for age allowed), fit_lb
            (gained by work, at least 0), fresh_lb (still missing from earlier races, at most 0), trip_lb,
            going_lb, surface_lb, draw_lb, rider_lb, luck_lb, figure_lb (the sum: what the run was truly worth
            before easing), eased_lengths, best_trip_m, trip_width_octaves, work_days (recent fast work, days a
            week). Today fit_lb and fresh_lb stand for horses in training only.
        truth_horses: what each horse is: source_horse, mature_lb (level when grown), late_lb (how far behind an
            average horse's growth it was at two), best_trip_m, trip_width_octaves (octaves off the best trip that
            cost 3 lb), soft_lb (gained a step of softer ground), synthetic_lb (gained from turf to synthetic),
            front_s (s ahead, negative, or behind its own even pace half way), constitution (no unit, 1 ordinary:
            what a race took decays with a time constant of 12 days over it), response (lb: fit_lb is response
            (1 - exp(-work_days / 1.2))), trainer and habit at the end.
        truth_draws: course, distance_m, slope_lb (what a full width of the stalls is worth in a field of 16 or
            more, positive in favour of high numbers).
    """

    seed: int
    first: date
    today: date
    races: pl.DataFrame
    runs: pl.DataFrame
    register: pl.DataFrame
    yard: Yard
    string: pl.DataFrame
    people: pl.DataFrame
    shares: pl.DataFrame
    stays: pl.DataFrame
    work: pl.DataFrame
    sale: Sale
    truth: pl.DataFrame
    truth_horses: pl.DataFrame
    truth_draws: pl.DataFrame


def simulate(seed: int = 17, first: date | None = None, today: date = TODAY, size: str = "usual") -> Invented:
    """Race an invented country up to `today` and return its results, the yard's books, and the truth.

    Args:
        seed: fixes everything.
        first: first day of racing; the size's own where none is given.
        today: last day, not raced.
        size: usual, or full: about two and a half times the horses, more courses and meetings, five seasons.
    """
    counts = SIZES[size]
    first = first or counts.first
    racing, yard, breeding, ring = np.random.default_rng(seed).spawn(4)
    staff = staff_count(counts, len(YARD.barns))
    names = person_names(racing, counts.trainers + counts.riders + staff + counts.owners)
    trainers, riders, rest = _dealt(names, counts.trainers, counts.riders)
    world = new_world(racing, counts, trainers, riders, first, today)
    rows = race_all(racing, world, first, today)
    people = people_of_yard(yard, counts, YARD.barns, trainers[0], rest[:staff], rest[staff:])
    string = string_of_yard(yard, world, people, today)
    known = register(breeding, world.horses)
    return Invented(
        seed=seed,
        first=first,
        today=today,
        races=_frame(rows.races, polars_schema(RACES)),
        runs=_frame(rows.runs, polars_schema(RUNS)),
        register=known,
        yard=YARD,
        string=string,
        people=people,
        shares=shares_of_string(yard, string, [login(name) for name in rest[staff:]]),
        stays=stays_of_yard(world, first, today),
        work=work_of_yard(world, first, today),
        sale=sale_of_yearlings(ring, world.horses.sires, known, people, today),
        truth=pl.DataFrame(rows.truth, schema=TRUTH),
        truth_horses=truth_horses(world),
        truth_draws=truth_draws(world),
    )


def _dealt(names: list[str], trainers: int, riders: int) -> tuple[list[str], list[str], list[str]]:
    return names[:trainers], names[trainers : trainers + riders], names[trainers + riders :]


def _frame(rows: list[Row], schema: pl.Schema) -> pl.DataFrame:
    """Return rows as a frame, columns that they lack empty; by way of Arrow, which reads lists of numbers faster."""
    import pyarrow as pa

    return pl.DataFrame(pa.Table.from_pylist(rows, schema=pl.DataFrame(schema=schema).to_arrow().schema))
