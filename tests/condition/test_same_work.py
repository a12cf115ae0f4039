"""Hearts with the exercise taken out, against planted truth."""

import numpy as np

from upsides.condition.monitoring.same_work import as_after_one


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
    freed = as_after_one(horse, exercise, heart, speed)
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
    freed = as_after_one(horse, exercise, heart)

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
    freed = as_after_one(horse, exercise, heart)
    rise = freed[(horse == 3) & late].mean() - freed[(horse == 3) & ~late].mean()
    assert abs(rise) < 4.0


def test_without_readings_there_is_nothing_to_take_out() -> None:
    """No readings give none."""
    none = np.zeros(0, dtype=np.int64)
    assert as_after_one(none, none, np.zeros(0)).size == 0
