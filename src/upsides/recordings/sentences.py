"""What is said of a reading, a sentence a code: English here, and gathered here for translation; pages translate it.

A sentence in which a number decides the form has two, chosen by `count`. Sentences begin small and end without a stop.
"""

from collections.abc import Mapping
from typing import Final

Value = str | int | float
Values = Mapping[str, Value]
Forms = tuple[str, ...]


def gettext(text: str) -> Forms:
    """Return a sentence as it is, under the name by which texts to translate are gathered."""
    return (text,)


def ngettext(one: str, more: str) -> Forms:
    """Return both forms of a sentence as they are, under the name by which texts to translate are gathered."""
    return one, more


SENTENCES: Final[Mapping[str, Forms]] = {
    # the file
    "encoding": gettext(
        "it is not the %(encoding)s text that it should be, and was read as Windows-1252: names may look odd"
    ),
    "packed_cut_off": ngettext(
        "it breaks off: the %(count)s byte that could be unpacked was read, what came then is lost",
        "it breaks off: the %(count)s bytes that could be unpacked were read, what came then is lost",
    ),
    "packed_damaged": ngettext(
        "it is damaged: the %(count)s byte that could be unpacked was read, what came then is lost",
        "it is damaged: the %(count)s bytes that could be unpacked were read, what came then is lost",
    ),
    "packed_changed": ngettext(
        "the check sum of what is packed is wrong: the %(count)s byte that could be unpacked was read",
        "the check sum of what is packed is wrong: the %(count)s bytes that could be unpacked were read",
    ),
    "member_refused": gettext("not read: %(reason)s"),
    "blank_bytes": ngettext(
        "%(count)s blank byte, as a failing card leaves them, stands in it",
        "%(count)s blank bytes, as a failing card leaves them, stand in it",
    ),
    "begins_late": ngettext(
        "%(count)s byte stands before its beginning and was left out",
        "%(count)s bytes stand before its beginning and were left out",
    ),
    "cut_off": ngettext(
        "the file breaks off: the %(count)s byte behind the last whole fix was left out; what came then is lost",
        "the file breaks off: the %(count)s bytes behind the last whole fix were left out; what came then is lost",
    ),
    "line_cut_off": gettext(
        "the file breaks off: its last line, %(line)s, is not whole and was left out; what came then is lost"
    ),
    "ends_early": ngettext(
        "it is cut off: it says that %(count)s more byte follows; what is there was read",
        "it is cut off: it says that %(count)s more bytes follow; what is there was read",
    ),
    "message_cut_off": ngettext(
        "its last message is cut off: %(count)s byte of it was left out",
        "its last message is cut off: %(count)s bytes of it were left out",
    ),
    "undefined": ngettext(
        "%(count)s byte was passed over, because nothing in the file says what it means",
        "%(count)s bytes were passed over, because nothing in the file says what they mean",
    ),
    "not_well_formed": gettext("it is not well-formed XML at line %(line)s; what can be read of it was read"),
    "undeclared_prefix": gettext("the prefix %(prefixes)s is never declared; what it marks was read all the same"),
    "fixes_lost": ngettext(
        "%(count)s fix that begins in it could not be read", "%(count)s fixes that begin in it could not be read"
    ),
    "crc_wrong": gettext("its check sum is wrong: some byte was changed after it was written; all was read"),
    "crc_missing": gettext("it ends without its check sum, so whether a byte was changed is not known"),
    "unclosed": gettext("its device did not write how long it is: all to its end was read"),
    "too_many_parts": gettext("more than %(count)s files in one: the others were not read"),
    "parts_twice": ngettext(
        "%(count)s file in it is the same as one before it and was left out",
        "%(count)s files in it are the same as ones before them and were left out",
    ),
    "no_sentences": gettext("it holds no sentence that is whole"),
    "wrong_checksum": ngettext(
        "%(count)s sentence with a wrong checksum was left out",
        "%(count)s sentences with a wrong checksum were left out",
    ),
    "no_checksums": gettext("no sentence has a checksum: what was damaged on the way cannot be told"),
    "cut_sentences": ngettext(
        "%(count)s sentence without its end was left out", "%(count)s sentences without their end were left out"
    ),
    "repeated_header": ngettext(
        "%(count)s line that repeats the names of the columns was left out",
        "%(count)s lines that repeat the names of the columns were left out",
    ),
    "not_numbers": ngettext(
        "%(count)s value of %(columns)s that is no number was left out",
        "%(count)s values of %(columns)s that are no numbers were left out",
    ),
    # what it holds
    "no_fixes": gettext("it holds no fix"),
    "only_places": ngettext(
        "it holds no track, only %(count)s place that was marked",
        "it holds no track, only %(count)s places that were marked",
    ),
    "dense_positions": gettext("positions are taken from messages of their own, which are denser than the records"),
    "route": ngettext(
        "a route of %(count)s point was left out: it says where somebody meant to go, not where he went",
        "a route of %(count)s points was left out: it says where somebody meant to go, not where he went",
    ),
    "repeated": ngettext(
        "one track repeats another: %(count)s fix of it stands in the file twice",
        "one track repeats another: %(count)s fixes of it stand in the file twice",
    ),
    "tracks_together": gettext("its %(count)s tracks were recorded at the same time: each is a recording of its own"),
    "two_devices": gettext(
        "positions of two devices stand mixed in this file; this is track %(track)s of 2, heart as it stood by it"
    ),
    "two_places": gettext(
        "its places jump to and fro between two ways, as of two devices in one file, and which fix is whose cannot be "
        "told: neither speed nor distance is given"
    ),
    "geoid": gettext(
        "the file puts mean sea level at %(metres)s m above the ellipsoid; its heights are kept as written"
    ),
    "no_sea_level": gettext(
        "the receiver knows no mean sea level (separation 0): its heights may be above the ellipsoid"
    ),
    # clock
    "zoneless": ngettext(
        "the time of %(count)s fix names no zone and was taken as UTC",
        "the times of %(count)s fixes name no zone and were taken as UTC",
    ),
    "unreadable_times": ngettext(
        "what is written as the time of %(count)s fix is no time, and was left out",
        "what is written as the time of %(count)s fixes is no time, and was left out",
    ),
    "odd_year": ngettext(
        "%(count)s fix with a time before 1990 or after 2100: the clock was wrong, the time is kept as written",
        "%(count)s fixes with a time before 1990 or after 2100: the clock was wrong, the times are kept as written",
    ),
    "no_time": ngettext("%(count)s fix without a time", "%(count)s fixes without a time"),
    "no_date": gettext("no sentence gives the date: the times are counted from 1 January 1970"),
    "no_start": gettext("nothing says when it began: the times are counted from 1 January 1970"),
    "skipped_hour": ngettext(
        "the clock was put forward: there was no such time as that of %(count)s fix, which has none now",
        "the clock was put forward: there was no such time as that of %(count)s fixes, which have none now",
    ),
    "hour_twice": ngettext(
        "%(count)s fix is of the hour that the clock in %(zone)s goes through twice: it goes back within the file",
        "%(count)s fixes are of the hour that the clock in %(zone)s goes through twice: it goes back within the file",
    ),
    "hour_twice_first": ngettext(
        "%(count)s fix is of the hour that the clock in %(zone)s goes through twice: it is taken as of its first time",
        "%(count)s fixes are of the hour that the clock in %(zone)s goes through twice: they are taken as of its first "
        "time",
    ),
    "clock_unset": ngettext(
        "the clock was not set at %(count)s fix: the times count from when the device was switched on",
        "the clock was not set at %(count)s fixes: the times count from when the device was switched on",
    ),
    "clock_not_set": gettext("the clock says %(day)s: it was not set; how long things took holds, the day does not"),
    "weeks_put_right": gettext(
        "its receiver counts the weeks wrongly, as old ones do: its dates, about %(was)s, were %(weeks)s weeks early, "
        "and were put right to %(day)s, the day in the file's name"
    ),
    "weeks_put_right_lately": gettext(
        "its receiver counts the weeks wrongly, as old ones do: its dates, about %(was)s, lie %(weeks)s weeks before "
        "%(day)s, shortly before it came in, and were put right to that"
    ),
    "zone_unsaid": ngettext(
        "the time of %(count)s fix names no zone and was taken as UTC; where it is local, a shape of the yard's own "
        "with its `zone` reads it right, in the night when the clock is changed too",
        "the times of %(count)s fixes name no zone and were taken as UTC; where they are local, a shape of the yard's "
        "own with its `zone` reads them right, in the night when the clock is changed too",
    ),
    "clock_ahead": gettext("its clock says %(when)s UTC, which is still to come"),
    "clock_set_back": ngettext(
        "the clock was set back once; what came before was moved, as if no time lay between",
        "the clock was set back %(count)s times; what came before was moved, as if no time lay between",
    ),
    "clock_put_back": ngettext(
        "the clock was put back by an hour once, as in a night in autumn; what came before was moved to join on",
        "the clock was put back by an hour %(count)s times; what came before was moved to join on",
    ),
    "newest_first": gettext("the file is written newest first; it was read from its end"),
    "parts_sorted": ngettext(
        "time steps back once; the parts were put in order of time",
        "time steps back %(count)s times; the parts were put in order of time",
    ),
    "parts_sorted_hour": ngettext(
        "time steps back once, by about an hour; the parts were put in order of time, which is wrong where the clock "
        "was put back, as in a night in autumn",
        "time steps back %(count)s times, once by about an hour; the parts were put in order of time, which is wrong "
        "where the clock was put back, as in a night in autumn",
    ),
    "days_between": ngettext(
        "between two fixes lies %(count)s day: two mornings in one file, or a clock that was set on the way",
        "between two fixes lie %(count)s days: two mornings in one file, or a clock that was set on the way",
    ),
    "fixes_joined": ngettext(
        "%(count)s fix without a position was joined to that of the same time",
        "%(count)s fixes without a position were joined to those of the same time",
    ),
    "times_far": ngettext(
        "left out: %(count)s fix with a time years from all others",
        "left out: %(count)s fixes with times years from all others",
    ),
    "times_missing": ngettext("left out: %(count)s fix without a time", "left out: %(count)s fixes without a time"),
    "times_swapped": ngettext(
        "sorted by time: %(count)s fix in the wrong order", "sorted by time: %(count)s fixes in the wrong order"
    ),
    "fixes_twice": ngettext("left out: %(count)s fix written twice", "left out: %(count)s fixes written twice"),
    "seconds_shared": ngettext(
        "spread evenly over its second: %(count)s fix that shared it",
        "spread evenly over their second: %(count)s fixes that shared it",
    ),
    "times_twice": ngettext(
        "left out: %(count)s fix with the same time as another",
        "left out: %(count)s fixes with the same time as another",
    ),
    "gaps": ngettext(
        "%(count)s gap of more than %(limit)s s, the longest of %(longest)s; nothing is made up there",
        "%(count)s gaps of more than %(limit)s s, the longest of %(longest)s; nothing is made up there",
    ),
    # positions and speed
    "void": ngettext(
        "the receiver says of %(count)s fix that it had no position: none was taken",
        "the receiver says of %(count)s fixes that it had no position: none was taken",
    ),
    "no_fix": ngettext(
        "%(count)s fix at exactly 0 north 0 east: the receiver had no position, and none was taken",
        "%(count)s fixes at exactly 0 north 0 east: the receiver had no position, and none was taken",
    ),
    "off_the_earth": ngettext(
        "%(count)s fix with a latitude beyond 90 or a longitude beyond 180 degrees: no position was taken",
        "%(count)s fixes with a latitude beyond 90 or a longitude beyond 180 degrees: no position was taken",
    ),
    "half_position": ngettext(
        "%(count)s fix with a latitude or a longitude only: no position was taken",
        "%(count)s fixes with a latitude or a longitude only: no position was taken",
    ),
    "positions_impossible": ngettext(
        "left out: %(count)s position off the earth", "left out: %(count)s positions off the earth"
    ),
    "positions_zero": ngettext(
        "left out: %(count)s position at 0,0, which receivers write for none",
        "left out: %(count)s positions at 0,0, which receivers write for none",
    ),
    "positions_stuck": ngettext(
        "left out: %(count)s position stuck while it moved", "left out: %(count)s positions stuck while it moved"
    ),
    "positions_spiked": ngettext(
        "left out: %(count)s position out of reach, on a leap there and back",
        "left out: %(count)s positions out of reach, on a leap there and back",
    ),
    "positions_aside": ngettext(
        "left out: %(count)s position thrown aside and back within seconds, sharper than a horse turns",
        "left out: %(count)s positions thrown aside and back within seconds, sharper than a horse turns",
    ),
    "fixes_rare": gettext(
        "it holds a place only every %(seconds)s seconds: too rarely to tell fast work or furlongs, and none are told"
    ),
    "positions_off": ngettext(
        "left out: %(count)s position far off the way before and after",
        "left out: %(count)s positions far off the way before and after",
    ),
    "start_lag": ngettext(
        "left out: %(count)s position from before the receiver had found itself",
        "left out: %(count)s positions from before the receiver had found itself",
    ),
    "track_leaps": ngettext(
        "the track leaps once to where the horse cannot have got; that leap is a gap",
        "the track leaps %(count)s times to where the horse cannot have got; each leap is a gap",
    ),
    "no_positions": gettext("it holds no positions, so there is neither speed nor distance"),
    "positions_refused": ngettext(
        "of %(count)s position %(kept)s%% could be used, and at least %(least)s%% and %(places)s are asked for: "
        "neither speed nor distance is given",
        "of %(count)s positions %(kept)s%% could be used, and at least %(least)s%% and %(places)s are asked for: "
        "neither speed nor distance is given",
    ),
    "not_a_horse": gettext(
        "it goes faster than %(speed)s m/s for %(share)s%% of the time it moves: not a horse, another sport or a lorry?"
    ),
    "beyond_records": gettext(
        "it goes %(metres)s m in %(seconds)s s; the fastest horse known took %(record)s s for as far: not a horse, "
        "another sport or a lorry?"
    ),
    "another_sport": gettext("its device calls it %(sport)s, not riding"),
    "no_track": gettext("nothing can be said of a horse by it"),
    "no_track_no_times": ngettext(
        "nothing can be said of a horse by it: of its %(count)s fix %(timed)s has a time",
        "nothing can be said of a horse by it: of its %(count)s fixes %(timed)s have a time",
    ),
    "no_track_no_time_passes": ngettext(
        "nothing can be said of a horse by it: its %(count)s fix lies within %(seconds)s s",
        "nothing can be said of a horse by it: its %(count)s fixes lie within %(seconds)s s",
    ),
    # height and heart
    "heights_zero": gettext("every height is 0, which devices write for none"),
    "heights_impossible": ngettext(
        "left out: %(count)s height that no land has", "left out: %(count)s heights that no land has"
    ),
    "ellipsoid": gettext(
        "the device's heights lie a steady %(metres)s m above the ground: they are heights over the ellipsoid, "
        "or its height was not set; that much was taken off"
    ),
    "ellipsoid_below": gettext(
        "the device's heights lie a steady %(metres)s m below the ground: they are heights over the ellipsoid, "
        "or its height was not set; that much was added"
    ),
    "no_heart": ngettext(
        "%(count)s fix with a heart rate of 0 or 255, which stands for none: no heart rate was taken",
        "%(count)s fixes with a heart rate of 0 or 255, which stands for none: no heart rate was taken",
    ),
    "heart_impossible": ngettext(
        "left out: %(count)s heart rate outside 20 to 250", "left out: %(count)s heart rates outside 20 to 250"
    ),
    "heart_frozen": ngettext(
        "left out: %(count)s heart rate that stood still while speed changed, or for minutes",
        "left out: %(count)s heart rates that stood still while speed changed, or for minutes",
    ),
    "heart_doubled": ngettext(
        "left out: %(count)s heart rate counted twice, or by half",
        "left out: %(count)s heart rates counted twice, or by half",
    ),
    "heart_doubtful": ngettext(
        "left out: %(count)s heart rate on one side of a jump to half or twice: nothing tells which side is true",
        "left out: %(count)s heart rates on one side of a jump to half or twice: nothing tells which side is true",
    ),
    "heart_sharp": ngettext(
        "left out: %(count)s heart rate that jumped and returned within ten seconds",
        "left out: %(count)s heart rates that jumped and returned within ten seconds",
    ),
    # what it does not hold whole
    "begins_at_work": gettext("it begins in the middle of canter or fast work: how that began is not in it"),
    "ends_at_work": gettext("it ends in the middle of canter or fast work: how that ended is not in it"),
    "gaps_at_work": ngettext(
        "%(count)s gap breaks off canter or fast work: what was done meanwhile is not in it",
        "%(count)s gaps break off canter or fast work: what was done meanwhile is not in it",
    ),
    "heart_not_of_work": gettext("no heart rate was kept in its fastest work, so that no highest is told"),
    "heart_half_of_work": gettext(
        "heart rates were kept in less than half of its fastest work, so that no highest is told"
    ),
}
"""The sentence of each code, in one form or in two."""


def sentence(code: str, values: Values) -> str:
    """Return a sentence in English; one that was kept as it was written, as it was."""
    if "text" in values:
        return str(values["text"])
    forms = SENTENCES[code]
    return (forms[0] if values.get("count") == 1 else forms[-1]) % values
