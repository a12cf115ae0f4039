"""What is said of plans of work, a sentence a code: English here, gathered here for translation; pages translate it.

A sentence in which a number decides the form has two, chosen by `count`. Answers keep codes with their values for
ever, so a code, and a name of a value in it, is never dropped or given another meaning.
"""

from collections.abc import Mapping
from typing import Final

from upsides.recordings.sentences import Forms, gettext, ngettext

OF_RULES: Final[Mapping[str, Forms]] = {
    "pin": gettext("%(horse)s does %(order)s on %(day)s, as was fixed by hand"),
    "race": gettext("%(horse)s runs on %(day)s"),
    "lessons": gettext("%(horse)s has its lessons at the stalls before its first race"),
    "gap": ngettext(
        "%(horse)s has %(count)s day or more from one fast work or race to the next",
        "%(horse)s has %(count)s days or more from one fast work or race to the next",
    ),
    "rest": ngettext(
        "%(horse)s rests on %(count)s of any seven days", "%(horse)s rests on %(count)s of any seven days"
    ),
    "limit": ngettext(
        "%(horse)s goes no more than %(metres)s m at %(speed)s m/s or faster in %(count)s day",
        "%(horse)s goes no more than %(metres)s m at %(speed)s m/s or faster in %(count)s days",
    ),
    "rider": gettext("nobody rides %(horse)s on %(day)s"),
    "closed": gettext("gallop %(gallop)s is shut on %(day)s"),
    "vet": gettext("the vet leaves %(horse)s no more than %(exercises)s from %(day)s to %(last)s"),
    "stand_down": gettext("%(horse)s stands down from %(day)s to %(last)s"),
    "slots": ngettext(
        "gallop %(gallop)s takes no more than %(count)s on %(day)s",
        "gallop %(gallop)s takes no more than %(count)s on %(day)s",
    ),
    "workers": ngettext(
        "no more than %(count)s does fast work on %(day)s", "no more than %(count)s do fast work on %(day)s"
    ),
    "riders": ngettext("no more than %(count)s is ridden on %(day)s", "no more than %(count)s are ridden on %(day)s"),
    "partners": gettext("%(horse)s works upsides only with a horse of about its figure and trip"),
    "unknown": gettext("it is not open on that day"),
}
"""Rules of a horse's work and of a string's; they stand behind a colon and before a stop."""

OF_PARTS: Final[Mapping[str, Forms]] = {
    "otherwise_easier": gettext("otherwise other days would be easier than the routine"),
    "otherwise_harder": gettext("otherwise it would be harder than the routine"),
    "otherwise_swapped": gettext("otherwise other days would have another order than the routine"),
    "otherwise_alone": gettext("otherwise work on other days would be alone, or in company, other than the routine"),
    "otherwise_rested": gettext("otherwise another day would be one of rest where the routine has work"),
    "otherwise_weeks": gettext("otherwise a later week would depart more from the routine"),
    "otherwise_fast_short": gettext("otherwise the week would have less fast work than the routine"),
    "otherwise_fast_over": gettext("otherwise the week would have more fast work than the routine"),
    "otherwise_canter_short": gettext("otherwise the week would have less canter than the routine"),
    "otherwise_canter_over": gettext("otherwise the week would have more canter than the routine"),
    "otherwise_late": gettext("otherwise fast work would be nearer to the race than the routine's last"),
    "otherwise_stale": gettext("otherwise the race would have no fast work in the days before it"),
    "otherwise_lessons_short": gettext("otherwise the week would have fewer lessons at the stalls than the routine"),
    "otherwise_lessons_over": gettext("otherwise the week would have more lessons at the stalls than the routine"),
    "otherwise_change": gettext("otherwise more would change of the plan that stands"),
}
"""Parts of the cost that would be dearer."""

OF_PLANS: Final[Mapping[str, Forms]] = {
    "summary": gettext("%(fast)s; %(off)s."),
    "fast": gettext("Fast work on %(on)s"),
    "fast_before": ngettext(
        "Fast work on %(on)s, the last %(count)s day before the race",
        "Fast work on %(on)s, the last %(count)s days before the race",
    ),
    "no_fast": gettext("No fast work in these days"),
    "as_routine": ngettext(
        "as the routine has it on all of %(count)s day", "as the routine has it on all of %(count)s days"
    ),
    "not_routine": ngettext(
        "other than the routine on %(off)s of %(count)s day", "other than the routine on %(off)s of %(count)s days"
    ),
    "departs": gettext("%(day)s: %(order)s instead of %(routine)s."),
    "departs_because": gettext("%(day)s: %(order)s instead of %(routine)s, because %(reasons)s."),
    "departs_apart": gettext("%(day)s: %(order)s instead of %(routine)s, only to be another plan."),
    "week_departs": ngettext(
        "%(day)s to %(last)s: %(order)s instead of %(routine)s on %(count)s day.",
        "%(day)s to %(last)s: %(order)s instead of %(routine)s on %(count)s days.",
    ),
    "week_departs_because": ngettext(
        "%(day)s to %(last)s: %(order)s instead of %(routine)s on %(count)s day, because %(reasons)s.",
        "%(day)s to %(last)s: %(order)s instead of %(routine)s on %(count)s days, because %(reasons)s.",
    ),
    "outside": gettext("%(week)s: %(has)s."),
    "outside_because": gettext("%(week)s: %(has)s, because %(reasons)s."),
    "of_week": gettext("Week of %(day)s"),
    "of_days": gettext("%(day)s to %(last)s"),
    "of_day": gettext("%(day)s"),
    "week_no_fast": gettext("no fast work (the routine has %(span)s)"),
    "week_fast": gettext("%(furlongs)s f of fast work (the routine has %(span)s)"),
    "week_no_canter": gettext("nothing at the canter (the routine has %(span)s)"),
    "week_canter": gettext("%(furlongs)s f at the canter (the routine has %(span)s)"),
    "week_lessons": ngettext(
        "lessons at the stalls: %(lessons)s (the routine has %(count)s)",
        "lessons at the stalls: %(lessons)s (the routine has %(count)s)",
    ),
    "week_lessons_over": gettext("lessons at the stalls: %(lessons)s (the routine has none)"),
    "span_none": gettext("none"),
    "span_one": gettext("%(high)s f"),
    "span_two": gettext("%(low)s to %(high)s f"),
    "late": ngettext(
        "The fast work on %(day)s is %(count)s day before the race; the routine's last is %(least)s days before.",
        "The fast work on %(day)s is %(count)s days before the race; the routine's last is %(least)s days before.",
    ),
    "it": gettext("it"),
    "unchanged": gettext("No day is other than in the plan before."),
    "changed_days": ngettext(
        "%(count)s day is other than in the plan before.", "%(count)s days are other than in the plan before."
    ),
    "changed": gettext("%(day)s: %(order)s, where the plan before had %(before)s."),
    "changed_because": gettext("%(day)s: %(order)s, where the plan before had %(before)s, because %(reasons)s."),
    "changed_with": gettext("%(day)s: %(order)s, to go with %(partner)s; the plan before had %(before)s."),
    "changed_by_hand": gettext("%(day)s: %(order)s, ordered by hand; the plan before had %(before)s."),
    "changed_moved": gettext("%(day)s: %(order)s, moved there by hand from %(on)s; the plan before had %(before)s."),
    "changed_from": gettext("%(day)s: %(order)s, for its %(before)s was moved by hand to %(on)s."),
    "better": ngettext(
        "With %(count)s more day changed it would depart from the routine by %(less)s less: %(orders)s.",
        "With %(count)s more days changed it would depart from the routine by %(less)s less: %(orders)s.",
    ),
    "steps": ngettext("%(steps)s step", "%(steps)s steps"),
    "order_on": gettext("%(order)s on %(day)s"),
    "unsharp": ngettext(
        "The race on %(day)s has no fast work in the %(count)s day before it.",
        "The race on %(day)s has no fast work in the %(count)s days before it.",
    ),
    "unrested": ngettext(
        "The race on %(day)s comes after %(count)s day of rest in seven, of %(rest)s asked for: the race is fixed, so "
        "the rule on rest gives way and counts from after it.",
        "The race on %(day)s comes after %(count)s days of rest in seven, of %(rest)s asked for: the race is fixed, so "
        "the rule on rest gives way and counts from after it.",
    ),
    "over_limit": ngettext(
        "With the race on %(day)s it goes beyond %(metres)s m at %(speed)s m/s or faster in %(count)s day: the race "
        "is fixed, so the limit gives way to it, and nothing else in that day is so fast.",
        "With the race on %(day)s it goes beyond %(metres)s m at %(speed)s m/s or faster in %(count)s days: the race "
        "is fixed, so the limit gives way to it, and nothing else planned up to it in those days is so fast.",
    ),
    "upsides_alone": gettext(
        "On %(day)s it is ordered upsides and has no partner: who was named does not do the same work upsides that "
        "day, or nobody of about its figure and trip can."
    ),
    "upsides_unnamed": gettext(
        "Upsides on %(on)s: a plan of one horse names no partner; the plan of the week does, or has the work done "
        "alone where nobody suits."
    ),
    "after_vet": gettext(
        "The vet's last step ends on %(day)s; what follows is the routine's and not the vet's: ask the vet before the "
        "first canter and before the first fast work."
    ),
    "span": gettext("%(day)s to %(last)s: %(orders)s"),
    "span_day": gettext("%(day)s: %(orders)s"),
    "of_order": gettext("%(count)s %(order)s"),
    "stage": gettext("From %(day)s: %(stage)s (%(source)s)."),
    "refused": gettext("what stands in the books or the routine cannot be right, %(typed)s: %(reason)s; %(remedy)s"),
}
"""A plan, its departures, what comes later, stages of the routine."""

OF_STALLS: Final[Mapping[str, Forms]] = {
    "next_walked_through": gettext("Next at the stalls: to be walked through the stalls."),
    "next_stood": gettext("Next at the stalls: to stand in them."),
    "next_jumped": gettext("Next at the stalls: to jump out."),
    "next_company": gettext("Next at the stalls: to jump in company."),
    "next_test": gettext("Next at the stalls: to pass the stalls test."),
    "learned": gettext("It has learned the stalls and is left alone."),
    "break_counts": gettext("%(why)s, so the break counts; %(ago)s."),
    "bend": gettext("The first bend is %(metres)s m from the stalls"),
    "sprint": gettext("The race is over %(metres)s m"),
    "never_there": gettext("it has never been at stalls"),
    "last_there": ngettext("it was last at stalls %(count)s day before", "it was last at stalls %(count)s days before"),
    "last_there_slow": ngettext(
        "it was last at stalls %(count)s day before, and was slow away",
        "it was last at stalls %(count)s days before, and was slow away",
    ),
    "last_there_learning": ngettext(
        "it was last at stalls %(count)s day before, and has not gone the whole path",
        "it was last at stalls %(count)s days before, and has not gone the whole path",
    ),
    "path_left": gettext("It has not gone the whole path to the stalls; %(ago)s."),
    "break_known": gettext("%(why)s, so the break counts; it knows stalls, was at some lately and was not slow away."),
    "break_less": gettext("The break counts less there: the race is over %(metres)s m, and %(bend)s."),
    "break_less_slow": gettext(
        "It was slow away the last time at stalls; the break counts less there: the race is over %(metres)s m, and "
        "%(bend)s."
    ),
    "bend_far": gettext("the first bend is %(metres)s m from the stalls"),
    "bend_none": gettext("the course is straight"),
    "bend_unknown": gettext("it is not entered how far the first bend is from the stalls"),
}
"""The path to the stalls."""

SENTENCES: Final[Mapping[str, Forms]] = {**OF_RULES, **OF_PARTS, **OF_PLANS, **OF_STALLS}
