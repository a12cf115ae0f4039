"""Hearts with exercise, rise, gallop, going, warmth and rider taken out, against planted truth."""

import numpy as np

from upsides.condition.monitoring.same_work import Worked, as_after_one


def planted(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return horse, exercise, speed and heart of twelve horses: 14 a minute and 5 a m/s of the exercise."""
    horse = np.repeat(np.arange(12), 30)
    exercise = (rng.random(horse.size) < 0.3).astype(np.int64)
    speed = np.where(exercise == 1, 14.0, 8.5) + rng.normal(0, 0.4, horse.size)
    about = speed - np.where(exercise == 1, 14.0, 8.5)
    heart = 120.0 + 2.0 * horse + 14.0 * exercise + 5.0 * about + rng.normal(0, 2.0, horse.size)
    return horse, exercise, speed, heart


def test_exercise_and_speed_are_taken_out() -> None:
    """What is left within horses is the planted noise, and does not hang together with exercise or speed."""
    horse, exercise, speed, heart = planted(np.random.default_rng(1))
    freed = as_after_one(horse, heart, Worked(exercise, speed))
    left = freed - (np.bincount(horse, freed) / np.bincount(horse))[horse]
    assert abs(left.std() - 2.0) < 0.2
    assert abs(left[exercise == 1].mean() - left[exercise == 0].mean()) < 0.6
    assert abs(np.corrcoef(left, speed)[0, 1]) < 0.1
    assert abs(freed.mean() - heart.mean()) < 1e-9


def test_a_horse_begun_on_fast_work_has_not_changed_and_one_that_has_is_seen() -> None:
    """A horse that does fast work from some day on stays where it was; a rise of 8 a minute of another stays in it."""
    rng = np.random.default_rng(2)
    horse, exercise, _speed, _heart = planted(rng)
    late = np.tile(np.arange(30), 12) >= 24
    exercise[horse == 3] = late[horse == 3]
    heart = 120.0 + 2.0 * horse + 14.0 * exercise + 8.0 * ((horse == 5) & late) + rng.normal(0, 2.0, horse.size)
    freed = as_after_one(horse, heart, Worked(exercise))

    def rise(one: int) -> float:
        return float(freed[(horse == one) & late].mean() - freed[(horse == one) & ~late].mean())

    assert abs(rise(3)) < 3.0
    assert rise(5) > 5.0


def test_a_horse_whose_heart_goes_up_more_for_fast_work_has_not_changed() -> None:
    """A horse that is begun on fast work, which raises its heart by 9 a minute more than that of others, stays about
    where it was."""
    rng = np.random.default_rng(3)
    horse, exercise, _speed, _heart = planted(rng)
    late = np.tile(np.arange(30), 12) >= 24
    exercise[horse == 3] = late[horse == 3]
    heart = 120.0 + (14.0 + 9.0 * (horse == 3)) * exercise + rng.normal(0, 2.0, horse.size)
    freed = as_after_one(horse, heart, Worked(exercise))
    rise = freed[(horse == 3) & late].mean() - freed[(horse == 3) & ~late].mean()
    assert abs(rise) < 4.0


def test_without_readings_there_is_nothing_to_take_out() -> None:
    """No readings give none."""
    none = np.zeros(0, dtype=np.int64)
    assert as_after_one(none, np.zeros(0), Worked(none)).size == 0


def circumstances(rng: np.random.Generator, horse: np.ndarray) -> tuple[Worked, np.ndarray]:
    """Return where, how warm, how steep and by whom twelve horses were ridden, most by their own rider, and what that
    truly does to their hearts: five riders from -6 to 6 a minute, a gallop 4 higher, 3 for each per cent of rise."""
    rider = np.where(rng.random(horse.size) < 0.7, horse % 5, rng.integers(0, 5, horse.size)).astype(np.int64)
    gallop, going = rng.integers(0, 2, horse.size), rng.integers(0, 3, horse.size)
    rise, heat = rng.normal(0.02, 0.01, horse.size), rng.normal(12.0, 6.0, horse.size)
    truth = 3.0 * rider - 6.0 + 4.0 * gallop + 300.0 * rise + 0.2 * heat
    return Worked(np.zeros(horse.size, dtype=np.int64), None, rise, heat, (gallop, going, rider)), truth


def test_where_how_steep_how_warm_and_by_whom_is_taken_out() -> None:
    """What is left within horses is the planted noise, and hangs together with none of them; a reading of which
    nothing is known stays what it is about the others."""
    rng = np.random.default_rng(4)
    horse = np.repeat(np.arange(12), 30)
    worked, truth = circumstances(rng, horse)
    noise = rng.normal(0, 2.0, horse.size)
    freed = as_after_one(horse, 120.0 + 2.0 * horse + truth + noise, worked)
    left = freed - (np.bincount(horse, freed) / 30)[horse]
    assert abs(left.std() - 2.0) < 0.25
    assert np.corrcoef(left, noise)[0, 1] > 0.95
    assert abs(np.corrcoef(left, truth)[0, 1]) < 0.1


def test_what_changes_nothing_is_hardly_taken_out() -> None:
    """Where none of it does anything to hearts, what is taken out has less than a fifth of the noise's spread, and so
    has what is taken out for the one wild reading of ninety beats more."""
    rng = np.random.default_rng(5)
    horse = np.repeat(np.arange(12), 30)
    worked, _truth = circumstances(rng, horse)
    heart = 120.0 + 2.0 * horse + rng.normal(0, 2.0, horse.size)
    heart[17] += 90.0
    taken = heart - as_after_one(horse, heart, worked)
    own = (np.bincount(horse, taken) / 30)[horse]  # a horse's own mean is the watch's to know
    assert (taken - own).std() < 0.4


def test_a_horse_with_another_rider_has_not_changed_and_one_that_has_is_seen() -> None:
    """A horse that gets a rider under whom hearts go 9 a minute higher stays where it was; one that rose by 8 rises."""
    rng = np.random.default_rng(6)
    horse, late = np.repeat(np.arange(12), 30), np.tile(np.arange(30), 12) >= 24
    rider = np.where(rng.random(horse.size) < 0.7, horse % 4, rng.integers(0, 4, horse.size)).astype(np.int64)
    rider[horse == 3] = np.where(late[horse == 3], 2, 1)
    heart = 120.0 + 2.0 * horse + 9.0 * (rider == 2) + 8.0 * ((horse == 5) & late) + rng.normal(0, 2.0, horse.size)
    freed = as_after_one(horse, heart, Worked(np.zeros(horse.size, dtype=np.int64), places=(rider,)))
    rise = [float(freed[(horse == one) & late].mean() - freed[(horse == one) & ~late].mean()) for one in (3, 5)]
    assert abs(rise[0]) < 3.0
    assert rise[1] > 5.0
