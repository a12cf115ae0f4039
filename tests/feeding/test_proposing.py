"""A ration that meets what is needed, near what is given now."""

from datetime import date

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize

from upsides.errors import FeedingRefusedError, FeedUnknownError, RationUnmetError
from upsides.feeding import WORKS, Feed, Proposal, Serving, defaults, energy_needed, propose
from upsides.feeding.proposing import least_distance

GIVEN = defaults(date(2026, 6, 1))
HAY = Feed("hay", "forage", 8.0, 0.86)
OATS = Feed("oats", "concentrate", 11.5, 0.88)
CUBES = Feed("cubes", "concentrate", 12.0, 0.88)
BALANCER = Feed("balancer", "supplement", 10.0, 0.9)
RICH = Feed("rich haylage", "forage", 9.0, 0.6)

ENERGY = st.floats(5, 14)
SHARE = st.floats(0.4, 0.95)
AMOUNT = st.just(0.0) | st.floats(0.001, 8)
"""kg; nobody writes less than a gram."""


def _amounts(proposal: Proposal) -> dict[str, float]:
    return {change.feed: change.then for change in proposal.changes}


def test_two_feeds_with_forage_at_its_least_are_solved_in_closed_form() -> None:
    """With forage short of what is wanted, hay is that and oats give the rest of the energy.

    At 500 kg: 7.5 kg of dry matter are 7.5/0.86 kg of hay; oats are (E - 8 x hay) / 11.5.
    """
    found = propose([Serving("morning", "oats", 5.0), Serving("evening", "hay", 6.0)], [HAY, OATS], 500, "heavy", GIVEN)
    hay = 7.5 / 0.86
    oats = (energy_needed(500, "heavy", GIVEN).mj - 8 * hay) / 11.5
    assert _amounts(found) == {"oats": pytest.approx(oats, abs=1e-10), "hay": pytest.approx(hay, abs=1e-10)}
    assert found.ration.percent == pytest.approx(100, abs=1e-10)


def test_with_forage_to_spare_the_change_goes_along_the_energies() -> None:
    """Where energy alone binds, x = x0 + e (E - e'x0) / e'e, the foot of the perpendicular (plain geometry)."""
    x0, e = np.array([10.0, 3.0]), np.array([8.0, 11.5])
    found = propose([Serving("noon", "hay", x0[0]), Serving("noon", "oats", x0[1])], [HAY, OATS], 500, "heavy", GIVEN)
    x = x0 + e * (energy_needed(500, "heavy", GIVEN).mj - e @ x0) / (e @ e)
    assert list(_amounts(found).values()) == pytest.approx(x.tolist(), abs=1e-10)


def test_a_ration_that_meets_it_is_left_alone() -> None:
    """Proposing again from a proposal changes nothing."""
    first = propose([Serving("noon", "hay", 9.0), Serving("noon", "oats", 2.0)], [HAY, OATS], 480, "very heavy", GIVEN)
    again = propose(first.ration.servings, [HAY, OATS], 480, "very heavy", GIVEN)
    assert [change.then for change in again.changes] == pytest.approx(
        [change.now for change in again.changes], abs=1e-9
    )


def test_feeds_given_now_come_before_others() -> None:
    """A feed at hand that the horse does not get stays out while those it gets can meet it, and comes in otherwise."""
    now = [Serving("noon", "hay", 9.0), Serving("noon", "oats", 2.0)]
    kept = propose(now, [HAY, OATS, CUBES], 500, "heavy", GIVEN)
    assert not kept.adds_feeds
    assert "cubes" not in _amounts(kept)
    added = propose(now[:1], [HAY, OATS], 500, "very heavy", GIVEN)
    assert added.adds_feeds
    assert _amounts(added)["oats"] > 0


def test_supplements_stay_as_they_are() -> None:
    """A supplement keeps its amount and its feed time, and its energy counts."""
    now = [Serving("morning", "balancer", 0.5), Serving("noon", "hay", 9.0), Serving("noon", "oats", 2.0)]
    found = propose(now, [HAY, OATS, BALANCER], 500, "heavy", GIVEN)
    assert Serving("morning", "balancer", 0.5) in found.ration.servings
    assert found.ration.percent == pytest.approx(100, abs=1e-9)


def test_the_split_over_feed_times_is_kept() -> None:
    """Oats given one to two over morning and evening are so in the proposal; a new horse's come in evenly."""
    now = [Serving("morning", "oats", 1.0), Serving("evening", "oats", 2.0), Serving("evening", "hay", 10.0)]
    servings = {(s.time, s.feed): s.kg for s in propose(now, [HAY, OATS], 500, "very heavy", GIVEN).ration.servings}
    assert servings["evening", "oats"] == pytest.approx(2 * servings["morning", "oats"])
    fresh = propose([], [HAY, OATS], 500, "very heavy", GIVEN, times=["morning", "noon", "evening"])
    parts = [s.kg for s in fresh.ration.servings if s.feed == "oats"]
    assert len(parts) == 3
    assert parts == pytest.approx([parts[0]] * 3)
    assert list(dict.fromkeys(s.time for s in fresh.ration.servings)) == ["morning", "noon", "evening"]


def test_less_forage_only_down_to_the_least() -> None:
    """A yard may ask for 1.2 % of body mass as rich haylage where 1.5 % is too much energy, but not for 0.9 %."""
    now = [Serving("noon", "rich haylage", 8.0)]
    with pytest.raises(RationUnmetError, match="least forage alone"):
        propose(now, [RICH, OATS], 500, "heavy", GIVEN)
    found = propose(now, [RICH, OATS], 500, "heavy", GIVEN, forage_percent=1.2)
    assert found.ration.forage.percent >= 1.2 - 1e-9
    with pytest.raises(FeedingRefusedError, match="forage to give"):
        propose(now, [RICH, OATS], 500, "heavy", GIVEN, forage_percent=0.9)


@pytest.mark.parametrize(
    ("feeds", "work", "reason"),
    [
        ([OATS, CUBES], "light", "no forage"),
        ([RICH], "minimum", "least forage alone gives 112.5 MJ where 63.4 MJ"),
        ([HAY], "very heavy", "they give 134.9 MJ in 14.5 kg"),
    ],
)
def test_feeds_that_cannot_meet_it_are_refused_with_the_reason(feeds: list[Feed], work: str, reason: str) -> None:
    """No forage, too rich a forage, too poor feeds: at 500 kg each is refused with figures worked by hand.

    7.5 kg of dry matter at 9/0.6 MJ are 112.5 MJ; 14.5 kg at 8/0.86 MJ are 134.9 MJ; 0.0303 x 500 Mcal are 63.4 MJ.
    """
    with pytest.raises(RationUnmetError, match=reason):
        propose([], feeds, 500, work, GIVEN, times=["noon"])


def test_supplements_that_leave_no_room_are_refused() -> None:
    """Seven kg of a supplement leave no room for forage at 400 kg, and that is the reason given."""
    now = [Serving("noon", "balancer", 7.0), Serving("noon", "hay", 5.0)]
    with pytest.raises(RationUnmetError, match=r"supplements leave room for 5\.3 kg"):
        propose(now, [HAY, BALANCER], 400, "heavy", GIVEN)


def test_malformed_input_is_refused() -> None:
    """No feed times, an unknown feed, or no mass is refused before anything is reckoned."""
    with pytest.raises(FeedingRefusedError, match="feed times"):
        propose([], [HAY, OATS], 500, "light", GIVEN)
    with pytest.raises(FeedUnknownError):
        propose([Serving("noon", "bran", 1.0)], [HAY, OATS], 500, "light", GIVEN)
    for mass in (0, -1, float("nan")):
        with pytest.raises(FeedingRefusedError, match="body mass"):
            propose([], [HAY, OATS], mass, "light", GIVEN, times=["noon"])


@given(
    st.lists(st.tuples(st.booleans(), ENERGY, SHARE, AMOUNT), min_size=1, max_size=5),
    st.floats(300, 700),
    st.sampled_from(WORKS),
)
def test_a_proposal_meets_energy_and_forage_and_is_the_nearest(
    drawn: list[tuple[bool, float, float, float]], mass: float, work: str
) -> None:
    """Energy is met, forage is as wanted, no more is eaten than a horse eats, and no other program finds a nearer one.

    The other program is SciPy's SLSQP on the same problem, begun from the proposal and from the ration now.
    """
    feeds = [Feed(f"{i}", "forage" if f else "concentrate", e, d) for i, (f, e, d, _) in enumerate(drawn)]
    now = [Serving("noon", f"{i}", kg) for i, (*_, kg) in enumerate(drawn)]
    try:
        found = propose(now, feeds, mass, work, GIVEN)
    except RationUnmetError:
        assume(False)  # whether it may be refused is the next test's matter
    needed = energy_needed(mass, work, GIVEN).mj
    assert found.ration.given.mj == pytest.approx(needed, rel=1e-8)
    assert found.ration.forage.kg >= 0.015 * mass - 1e-7
    assert found.ration.dry_matter_kg <= 0.029 * mass + 1e-7
    fed = [i for i, (*_, kg) in enumerate(drawn) if kg > 0 or found.adds_feeds]
    x0 = np.array([drawn[i][3] for i in fed])
    e, d = (np.array([drawn[i][part] for i in fed]) for part in (1, 2))
    f = d * [drawn[i][0] for i in fed]
    then = {change.feed: change.then for change in found.changes}
    x = np.array([then.get(f"{i}", 0.0) for i in fed])
    binding = [
        {"type": "eq", "fun": lambda v: (e @ v - needed) / needed},
        {"type": "ineq", "fun": lambda v: f @ v - 0.015 * mass},
        {"type": "ineq", "fun": lambda v: 0.029 * mass - d @ v},
    ]
    for start in (x, x0):
        other = minimize(lambda v: (v - x0) @ (v - x0), start, bounds=[(0, None)] * len(x), constraints=binding)
        kept = abs(e @ other.x - needed) < 1e-6 * needed and (f @ other.x) > 0.015 * mass - 1e-6
        if other.success and kept and d @ other.x < 0.029 * mass + 1e-6:
            assert (x - x0) @ (x - x0) <= other.fun + 1e-4 * max(1.0, other.fun)


@given(
    st.lists(st.tuples(st.booleans(), ENERGY, SHARE), min_size=1, max_size=4),
    st.floats(300, 700),
    st.sampled_from(WORKS),
)
def test_what_is_refused_cannot_be_met(drawn: list[tuple[bool, float, float]], mass: float, work: str) -> None:
    """A refusal agrees with SciPy's linear programming on whether any amounts meet it."""
    from scipy.optimize import linprog

    feeds = [Feed(f"{i}", "forage" if f else "concentrate", e, d) for i, (f, e, d) in enumerate(drawn)]
    needed = energy_needed(mass, work, GIVEN).mj
    e, d = (np.array([row[part] for row in drawn]) for part in (1, 2))
    f = d * [row[0] for row in drawn]
    bound = linprog(0 * e, A_ub=[-f, d], b_ub=[-0.015 * mass, 0.029 * mass], A_eq=[e / needed], b_eq=[1.0])
    try:
        propose([], feeds, mass, work, GIVEN, times=["noon"])
        met = True
    except RationUnmetError:
        met = False
    assert met == (bound.status == 0)


def test_the_shortest_step_into_a_half_plane() -> None:
    """The shortest y with y1 + y2 >= 2 is (1, 1), and into an empty set there is none (plain geometry)."""
    assert least_distance(np.array([[1.0, 1.0]]), np.array([2.0])).tolist() == pytest.approx([1.0, 1.0])
    with pytest.raises(RationUnmetError):
        least_distance(np.array([[1.0, 0.0], [-1.0, 0.0]]), np.array([1.0, 1.0]))
