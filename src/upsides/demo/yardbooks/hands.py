"""Who writes what down: whoever looks after the horse, the head person of the barn, whoever runs the morning."""

from dataclasses import dataclass

import numpy as np

from upsides.demo.yard import YARD
from upsides.demo.yardbooks.grid import Grid, Ints
from upsides.demo.yardbooks.staff import Staff
from upsides.demo.yardbooks.standing import Housed


@dataclass(frozen=True, slots=True)
class Hands:
    """Places of people among the staff, on each day; nobody stands here on a day on which he does not work.

    Args:
        carer: who looks after each horse, (horses, days).
        head: who looks round each barn: its head person, else one who looks after its horses, (barns, days).
        gives: who gives medicines there: its head person, else whoever runs the morning, (barns, days).
        lead: who runs the morning: an assistant, else the trainer, (days,).
        office: the secretary, else whoever runs the morning, (days,).
        vet: one of the vets for each barn, (barns,).
        names: logins by place.
    """

    carer: Ints
    head: Ints
    gives: Ints
    lead: Ints
    office: Ints
    vet: Ints
    names: np.ndarray[tuple[int], np.dtype[np.object_]]


def hands_of(staff: Staff, grid: Grid, own: Housed) -> Hands:
    """Return who writes on which day."""
    logins, days = staff.logins, np.arange(grid.days)
    trainer, vets = staff.with_role("trainer")[0], staff.with_role("vet")
    lead = np.full(grid.days, trainer)
    for person in staff.with_role("assistant")[::-1]:
        lead = np.where(staff.works[person], person, lead)
    secretary = staff.with_role("secretary")[0]
    heads, spare = np.empty((len(YARD.barns), grid.days), dtype=np.int64), []
    gives = np.empty_like(heads)
    for number, barn in enumerate(YARD.barns):
        carers = staff.with_role("carer", barn)
        works = staff.works[carers]
        counted = np.maximum(works.sum(axis=0), 1)
        order = np.argsort(~works, axis=0, kind="stable")
        spare.append(np.where(works.any(axis=0), carers[order[days % counted, days]], lead))
        head = staff.with_role("head_person", barn)[0]
        heads[number] = np.where(staff.works[head], head, spare[-1])
        gives[number] = np.where(staff.works[head], head, lead)
    place = {name: i for i, name in enumerate(logins)}
    carer = np.array([place[name] for name in own.carer])[:, None]
    on = np.where(staff.works[carer[:, 0]], carer, np.stack(spare)[own.barn])
    return Hands(
        carer=on,
        head=heads,
        gives=gives,
        lead=lead,
        office=np.where(staff.works[secretary], secretary, lead),
        vet=np.array([vets[number % vets.size] for number in range(len(YARD.barns))]),
        names=np.array(logins, dtype=object),
    )
