"""The people of the invented yard: who works there, in which barn, and who owns its horses."""

import numpy as np
import polars as pl

from upsides.demo.sizes import Size

ASSISTANTS = 2
_ONE_OF_EACH = ("secretary", "vet")
_CARERS_THAT_RIDE = 0.65

_PEOPLE = {"login": pl.String(), "name": pl.String(), "roles": pl.List(pl.String()), "barn": pl.String()}
Job = tuple[list[str], str]


def staff_count(size: Size, barns: int) -> int:
    """Return how many people work in or for the yard besides the trainer."""
    return ASSISTANTS + barns + len(_ONE_OF_EACH) + size.carers + size.work_riders


def people_of_yard(
    rng: np.random.Generator, size: Size, barns: tuple[str, ...], trainer: str, staff: list[str], owners: list[str]
) -> pl.DataFrame:
    """Give everybody a part.

    Args:
        rng: source of chance.
        size: how many of what.
        barns: names of the barns.
        trainer: name of the trainer.
        staff: names of the others that work there, as many as `staff_count` says.
        owners: names of the owners.

    Returns:
        login (surname in lower case), name, roles, barn ("" for none); the trainer first.
    """
    jobs: list[Job] = [(["trainer"], ""), *_jobs(rng, size, list(barns)), *((["owner"], "") for _ in owners)]
    rows = [
        (login(name), name, roles, barn) for name, (roles, barn) in zip([trainer, *staff, *owners], jobs, strict=True)
    ]
    return pl.DataFrame(rows, schema=_PEOPLE, orient="row")


def login(name: str) -> str:
    """Return the sign-in name of a person: the surname in lower case."""
    return name.rsplit(maxsplit=1)[-1].lower()


def _jobs(rng: np.random.Generator, size: Size, barns: list[str]) -> list[Job]:
    also_ride = rng.random(size.carers) < _CARERS_THAT_RIDE
    return [
        (["assistant"], ""),
        *((["assistant", "rider"], "") for _ in range(ASSISTANTS - 1)),
        *((["head_person"], barn) for barn in barns),
        *(([role], "") for role in _ONE_OF_EACH),
        *((["carer", "rider"] if rides else ["carer"], barns[i % len(barns)]) for i, rides in enumerate(also_ride)),
        *((["rider"], "") for _ in range(size.work_riders)),
    ]
