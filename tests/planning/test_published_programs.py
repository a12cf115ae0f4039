"""The modelling layer on programs whose optima are published."""

import numpy as np
import pytest

from planning.published_programs import (
    ASSIGNMENTS,
    COVER,
    DAYS,
    OFF,
    OFF_WISHES,
    ON_WISHES,
    SHIFTS_OPTIMUM,
    STAFF,
)
from upsides.planning.program import Program
from upsides.planning.solving import solve


@pytest.mark.parametrize(("optimum", "capacity", "profit", "resource"), ASSIGNMENTS)
def test_generalised_assignments_reach_their_published_optima(
    optimum: int, capacity: list[int], profit: list[list[int]], resource: list[list[int]]
) -> None:
    """Each job to one agent within the agents' capacities: 336, 327, 339, 341 and 326 (OR-Library, gap1)."""
    program = Program()
    x = program.columns(-np.array(profit))
    agent, job = np.indices(x.shape)
    program.rows(job.ravel(), x.ravel(), 1.0, np.ones(x.shape[1]), np.ones(x.shape[1]))
    program.rows(agent.ravel(), x.ravel(), np.ravel(resource), -np.inf, np.array(capacity, dtype=float))
    found = solve(program)
    assert (-found.objective, -found.bound) == pytest.approx((optimum, optimum), abs=1e-6)


def test_a_shift_schedule_reaches_its_published_optimum() -> None:
    """Eight people over fourteen days: 607 (Curtois and Qu 2014, instance 1).

    Seven to nine shifts, at most five in a row, at least two in a row and two days off in a row inside the fortnight,
    at most one weekend worked of two.
    """
    program = Program()
    cost = np.zeros((len(STAFF), DAYS))
    for (who, weight), days in ON_WISHES.items():
        cost[STAFF.index(who), days] -= weight
        program.offset += weight * len(days)
    for (who, weight), days in OFF_WISHES.items():
        cost[STAFF.index(who), days] += weight
    x = program.columns(cost)
    under, over = (program.columns(np.full(DAYS, price), np.inf, whole=False) for price in (100.0, 1.0))
    weekend = program.columns(np.zeros((len(STAFF), 2)))
    for day in range(DAYS):
        program.row_of(np.r_[x[:, day], under[day], over[day]], np.r_[np.ones(len(STAFF) + 1), -1.0], *[COVER[day]] * 2)
    for who, row in zip(STAFF, x, strict=True):
        program.row_of(row[OFF[who]], low=0.0, high=0.0)
        program.row_of(row, low=7, high=9)
        for day in range(DAYS - 5):
            program.row_of(row[day : day + 6], high=5)
        for day in range(1, DAYS - 1):
            program.row_of(row[day - 1 : day + 2], [-1, 1, -1], high=0)
            program.row_of(row[day - 1 : day + 2], [1, -1, 1], high=1)
        worked = weekend[STAFF.index(who)]
        for day, place in ((5, 0), (6, 0), (12, 1), (13, 1)):
            program.row_of([row[day], worked[place]], [1, -1], high=0)
        program.row_of(worked, high=1)
    found = solve(program)
    assert (found.objective, found.bound) == pytest.approx((SHIFTS_OPTIMUM, SHIFTS_OPTIMUM), abs=1e-6)
    assert found.proven


def test_a_program_without_whole_columns_is_bounded_by_its_value() -> None:
    """Minimise -x - y with x + 2y <= 4 and x, y <= 3: the corner (3, 0.5), by hand."""
    program = Program()
    x = program.columns([-1.0, -1.0], 3.0, whole=False)
    program.row_of(x, [1.0, 2.0], high=4.0)
    found = solve(program)
    assert (found.objective, found.bound) == pytest.approx((-3.5, -3.5), abs=1e-9)
    assert found.values == pytest.approx([3.0, 0.5], abs=1e-9)


def test_rows_that_nothing_meets_are_told() -> None:
    """x <= 1 and x >= 2 have no solution, and that is proven."""
    program = Program()
    program.row_of(program.columns([1.0]), low=2.0)
    found = solve(program)
    assert not found.feasible
    assert found.values is None
