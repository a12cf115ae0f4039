"""An invented yard in the words that printed sheets take, of any size, for the tests of what is printed."""

from datetime import UTC, datetime
from functools import cache

import numpy as np

from upsides.demo.names import horse_names, person_names
from upsides.paper.checks import BarnChecks, CheckRow, CheckSheet, CheckTitles
from upsides.paper.evening import EveningList
from upsides.paper.feed_board import FedBarn, FedHorse, FeedBoard, FeedTime, Meal
from upsides.paper.look_at import BarnLooks, LookAtSheet, LookAtTitles
from upsides.paper.lots import Line, Listing, Lot, Ride, RideTitles
from upsides.paper.masthead import Masthead
from upsides.paper.morning import Look, MorningSheet
from upsides.paper.race_day import RaceDayRunner, RaceDaySheet, RaceDayTitles
from upsides.paper.register import MedicineRegister, RegisterEntry, RegisterTitles
from upsides.paper.week import DayOfWork, PersonsWeek, StaffWeek

MADE = datetime(2026, 5, 12, 3, 41, tzinfo=UTC)
DAYS = ("Mon 11", "Tue 12", "Wed 13", "Thu 14", "Fri 15", "Sat 16", "Sun 17")
CAUTION = (
    "A withdrawal time belongs to the vet who treats. A detection time comes from few horses and is a guide only; a "
    "stand-down is the least the rules ask and does not show that a sample would be negative. The trainer answers for "
    "what is found. Ask the vet and the authority before the horse is entered."
)


def masthead(title: str, day: str = "Tuesday 12 May 2026", *, as_of: str = "", note: str = "") -> Masthead:
    """Return the head of a sheet of the invented yard."""
    printed, page = "Printed on 12 May 2026 at 04:41", "Page {page} of {pages}"
    return Masthead("Harrowmere", title, day, printed, page, MADE, as_of, note)


@cache
def names(count: int) -> list[str]:
    """Return as many names of horses; nobody changes the list."""
    return horse_names(np.random.default_rng(5), count)


@cache
def people(count: int) -> list[str]:
    """Return as many names of people; nobody changes the list."""
    return person_names(np.random.default_rng(6), count)


def barn_of(place: int) -> str:
    """Return the letter of the barn that the horse of this place stands in, twenty to a barn."""
    return chr(ord("A") + place // 20)


def box_of(place: int) -> str:
    """Return the box of the horse of this place."""
    return f"{barn_of(place)}{place % 20 + 1}"


ORDERS = (
    "Hack canter 6f, then half-speed 5f upsides",
    "Steady canter twice",
    "Walk and trot 40 min",
    "Work 6f, quicken the last 2f",
    "Stalls practice, then hack canter 5f",
)
GALLOPS = ("Long Hill, artificial", "Mere Bottom, turf", "Round canter")
CAUTIONS = {
    3: ("Bandages behind",),
    7: ("Not measured for 6 days: mass",),
    11: ("Coughed once on Sunday", "Walk only if it coughs again"),
    17: ("Shod yesterday",),
}
CHANGES = {2: "Rider: was R. Pellmarsh", 5: "Was in the second lot", 9: "Was a canter, now half-speed", 14: "New today"}
TITLES = RideTitles("Horse", "Box", "Rider", "Exercise order", "Gallop", "With", "Mind", "Notes")


def lots(horses: list[str], *, changes: bool = False) -> tuple[Lot, ...]:
    """Return the horses in lots of fifteen."""
    riders = people(16)
    rides = [
        Ride(
            name,
            box_of(i),
            riders[i % 16],
            ORDERS[i % 5],
            GALLOPS[i % 3],
            horses[i ^ 1] if i % 5 == 0 and (i ^ 1) < len(horses) else "",
            CAUTIONS.get(i % 23, ()),
            CHANGES.get(i % 20, "") if changes else "",
        )
        for i, name in enumerate(horses)
    ]
    first = ("First lot", "Second lot", "Third lot", "Fourth lot")
    parts = [tuple(rides[k : k + 15]) for k in range(0, len(rides), 15)]
    title = [first[k] if k < 4 else f"Lot {k + 1}" for k in range(len(parts))]
    return tuple(
        Lot(t, p, f"out at {5 + k}:30, {len(p)} horses") for k, (t, p) in enumerate(zip(title, parts, strict=True))
    )


def lists(horses: list[str]) -> tuple[Listing, ...]:
    """Return runners, deadlines and what is due."""
    some = horses[:7]
    return (
        Listing("Runners today", tuple(Line("14:20", f"{name}, Vellbrook, 7f handicap") for name in some[:2]), "None."),
        Listing("Deadlines", tuple(Line("by 10:00", f"Declare {name} for Thursday") for name in some[2:5]), "None."),
        Listing("Vaccinations due", tuple(Line("by 19 May", f"{name}: influenza, third") for name in some), "None."),
        Listing("Farrier", (), "Nobody is due this week."),
    )


def morning(count: int, *, as_of: str = "") -> MorningSheet:
    """Return the morning sheet of a yard of that many horses."""
    horses = names(count)
    looks = (
        ("Temperature 38.9 °C last night, its usual is 37.7", "Left a third of its feed twice in three days"),
        ("Heat in the near fore at evening stables; legs not looked at since",),
        ("Not looked at since Sunday",),
    )
    return MorningSheet(
        masthead("Morning", as_of=as_of),
        f"{count} horses in the yard; three to look at first, two run today." if count else "The yard is empty.",
        "Look at first",
        tuple(Look(horses[7 * i], box_of(7 * i), reasons) for i, reasons in enumerate(looks) if 7 * i < count),
        "Nobody stands out.",
        TITLES,
        lots(horses),
        "No lot is planned.",
        lists(horses),
    )


def evening(count: int) -> EveningList:
    """Return tomorrow's list of a yard of that many horses."""
    horses = names(count)
    stays = tuple(Line(box_of(i), f"{name} walks in hand") for i, name in enumerate(horses[:3]))
    return EveningList(
        masthead("Tomorrow", "Wednesday 13 May 2026"),
        f"{count} horses go out in {len(lots(horses))} lots; what is otherwise than today is marked.",
        "A bar at the left and slanted words: otherwise than today.",
        TITLES,
        lots(horses, changes=True),
        "No lot is planned.",
        (Listing("Stays in", stays, "Nobody."), *lists(horses)[:2]),
    )


def checks(count: int) -> CheckSheet:
    """Return the barn checks of a yard of that many horses, twenty to a barn."""
    rows = [
        CheckRow(
            name, box_of(i), "" if i % 9 == 4 else f"37.{i % 7 + 2} °C Mon", "" if i % 4 else f"{470 + i % 50} kg Sat"
        )
        for i, name in enumerate(names(count))
    ]
    barns = [BarnChecks(f"Barn {barn_of(k)}", tuple(rows[k : k + 20])) for k in range(0, count, 20)]
    titles = CheckTitles("Box", "Horse", "Looked at", "Temperature", "Feed left", "Droppings", "Legs", "Remarks")
    how = "Tick what was looked at; leave blank what was not."
    signed = ("Walked by", "At", "Told to")
    return CheckSheet(masthead("Barn checks"), how, titles, tuple(barns), signed, "There is no horse in any barn.")


def look_at(count: int) -> LookAtSheet:
    """Return the sheet of whom to look at, of that many horses, twenty to a barn."""
    why = ("Mass below its usual 500 kg since 1 May: 494 kg on average, last 493 kg.", "Feed left: about half left.")
    looks = [Look(name, box_of(i), why[: 1 + i % 2]) for i, name in enumerate(names(count))]
    barns = [BarnLooks(f"Barn {barn_of(k)}", tuple(looks[k : k + 20])) for k in range(0, count, 20)]
    titles = LookAtTitles("Box", "Horse", "Why", "What was seen")
    head = masthead("Look at these first")
    return LookAtSheet(head, f"{count} to look at first.", titles, tuple(barns), (), "There is nobody to look at.")


def race_day(count: int) -> RaceDaySheet:
    """Return the sheet of a race day with that many runners."""
    runners = [
        RaceDayRunner(
            f"{13 + i % 6}:{10 + i % 40}",
            name,
            ("Sedge Handicap", "Larkmoor, 1600 m on turf, handicap, class 4"),
            ("T. Holloway", "9-2 on the card", "8-13 after the claim", f"stall {i % 14 + 1}"),
            ("leaves 08:15", "back 19:00", "passport 4711"),
            ("Gelded since its last run: to be told when you declare.",)[: i % 2],
        )
        for i, name in enumerate(names(count))
    ]
    titles = RaceDayTitles("Off", "Horse and race", "Jockey and weight", "Travel", "To know", "What came of it")
    sentence = f"{count} horses run, at Larkmoor."
    return RaceDaySheet(masthead("Race day"), sentence, titles, tuple(runners), "No horse is declared.")


def feed_board(count: int) -> FeedBoard:
    """Return the feed board of a yard of that many horses, twenty to a barn."""
    times = tuple(FeedTime(at, ("oats",)) for at in ("05:30", "11:30", "17:30", "20:30"))
    fed = [
        FedHorse(
            name,
            box_of(i),
            tuple(
                Meal(f"{1.5 + 0.5 * ((i + t) % 3):.1f}", "was 2.5 kg" if (i + 5 * t) % 19 == 0 else "")
                for t in range(4)
            ),
            ("", "Hay soaked", "Salt 50 g", "", "Runs today: no midday feed")[i % 5],
        )
        for i, name in enumerate(names(count))
    ]
    note = "haylage 8 kg each"
    barns = [FedBarn(f"Barn {barn_of(k)}", times, tuple(fed[k : k + 20]), note) for k in range(0, count, 20)]
    return FeedBoard(
        masthead("Feed board"), "Changes since yesterday are in bold with what was.", "Box", "Horse", "Remarks",
        tuple(barns), "There is no horse to feed.",
    )  # fmt: skip


def week(count: int) -> StaffWeek:
    """Return the week of that many people."""
    rows = [
        PersonsWeek(
            name,
            ("Rides out", "Head of barn", "Travelling", "Yard")[i % 4],
            tuple(
                DayOfWork(off="Day off") if (d + i) % 7 == 6 else DayOfWork("05:30–12:30", f"{(i + d) % 3 + 2} rides")
                for d in range(7)
            ),
            "42 h",
        )
        for i, name in enumerate(people(count))
    ]
    sums = (*(f"{6 * count} h" for _ in DAYS), f"{42 * count} h")
    return StaffWeek(
        masthead("Staff", "11 to 17 May 2026"), f"{count} people, each with one day off.", "Who", DAYS, "Week",
        tuple(rows), "All together", sums, "Nobody is on the list.",
    )  # fmt: skip


def register(count: int) -> MedicineRegister:
    """Return a register of that many entries, one in nine struck and corrected by the next."""
    horses = names(max(count, 1))
    entries = []
    for i in range(count):
        struck, corrects = i % 9 == 3, i % 9 == 4
        remark = f"Corrected on 3 May 2026 by A. Orrinshaw: the batch was misread; see {i + 2}." if struck else ""
        remark = f"Corrects {i}." if corrects else remark
        entries.append(
            RegisterEntry(
                str(i + 1), f"{i % 28 + 1} May 2026", horses[i - 1] if corrects else horses[i],
                f"GB{100000 + 37 * i}\n98510{i % 10}0{1234567 + 91 * i}", "Flunixin 50 mg/ml", f"B{4411 + i % 7}",
                "10 ml, into the vein", "M. Carrowdene MRCVS", "A. Orrinshaw", "Swollen near fore after work",
                f"{i % 28 + 3} May 2026", "Not for food (passport II)", f"{i % 28 + 10} May 2026, house rule: 7 days",
                struck, remark,
            )
        )  # fmt: skip
    titles = RegisterTitles(
        "No", "Given", "Horse, passport, microchip", "Product", "Batch", "Quantity, route", "Prescribed by", "Given by",
        "Reason", "Course ends", "Food chain", "Stand-down until, rule",
    )  # fmt: skip
    return MedicineRegister(
        masthead("Medicine register", "1 to 31 May 2026", note=CAUTION),
        f"{count} entries in May; none was taken out." if count else "May holds no entry.",
        titles, tuple(entries), "Nothing was given in this period.",
    )  # fmt: skip
