"""Texts of the shipped routine, and why a value is refused, as they stand in sentences: gathered here for translation.

A yard's own orders and stages are called as its file has them.
"""

from typing import Final

from upsides.recordings.sentences import Forms, gettext

_TEXTS: Final[tuple[Forms, ...]] = (
    # orders
    gettext("day off"),
    gettext("box rest"),
    gettext("led out"),
    gettext("walker"),
    gettext("turned out"),
    gettext("swim"),
    gettext("walk"),
    gettext("trot"),
    gettext("hack canter"),
    gettext("long steady canter"),
    gettext("stalls"),
    gettext("half-speed"),
    gettext("half-speed, upsides"),
    gettext("half-speed over four furlongs"),
    gettext("half-speed over four furlongs, upsides"),
    gettext("fast three furlongs on rising ground"),
    gettext("fast three furlongs on rising ground, upsides"),
    gettext("fast three and a half furlongs on rising ground"),
    gettext("fast three and a half furlongs on rising ground, upsides"),
    gettext("fast five furlongs"),
    gettext("fast five furlongs, upsides"),
    gettext("fast six furlongs"),
    gettext("fast six furlongs, upsides"),
    gettext("race"),
    gettext("nothing"),
    # stages
    gettext("race week"),
    gettext("sharpening"),
    gettext("building"),
    gettext("walking and trotting"),
    gettext("hack canters"),
    gettext("long canters"),
    gettext("first works"),
    # who says so
    gettext("common practice, no source"),
    gettext("lower end of the canter: a taper found in people (Bosquet and others 2007), not in horses"),
    gettext(
        "common practice; fast work of 40 furlongs in four weeks is 8 km, the median of a month's gallop told by 66 "
        "trainers in Victoria (Morrice-West and others 2020)"
    ),
    gettext(
        "common practice: fast work short, on rising ground, between plenty of long steady canters; sprinters do less "
        "than stayers (Morrice-West and others 2020)"
    ),
    gettext("common practice; stayers do more than sprinters (Morrice-West and others 2020)"),
    gettext(
        "small fast work early and gradually, little canter on fast days: distance of up to a month went with sore "
        "shins, distance since entry against them (Verheyen and others 2005)"
    ),
    gettext(
        "common practice; rest of more than a week takes bone back, so that the return must be gradual (summary of "
        "Hitchens, Whitton and others, University of Melbourne)"
    ),
    gettext(
        "common practice; the ten and the twenty-one days after the first fast work that ends a lay-up went with the "
        "most broken bones in California (Carrier and others 1998), an association: the vet is asked first"
    ),
    # why a value is refused, and what to do
    gettext("it is too little"),
    gettext("give more"),
    gettext("a week has seven days"),
    gettext("give 7 or fewer"),
    gettext("it is none of the days that are planned"),
    gettext("name a day that is planned"),
    gettext("it is no order of work"),
    gettext("name one; a race is given as one"),
    gettext("it is no limit"),
    gettext("give metres, days from 1 on and a speed in m/s"),
    gettext("it ends before it begins, or nobody says so"),
    gettext("correct it"),
    gettext("it is past, or stands twice"),
    gettext("it is not past, or stands twice"),
    gettext("give each once"),
    gettext("no race is so long"),
    gettext("give metres, 200 to 8000"),
    gettext("its metres cannot be"),
    gettext("give a number for each step of speed, none below 0"),
)

TEXTS: Final = frozenset(text for (text,) in _TEXTS)
"""Those that can be translated."""
