"""The yard's tables as people read them: names instead of numbers, units in the headings."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final

from django.db.models import Model
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from upsides.books import clock
from upsides.books.export.cells import Cell
from upsides.books.models import (
    Bond,
    Caution,
    DayOff,
    Declarable,
    Engagement,
    Feed,
    FeedBatch,
    Gallop,
    Horse,
    Move,
    OfficialMark,
    Person,
    Ration,
    Share,
    Shift,
    Stand,
    Thing,
)
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment

Rows = Callable[[Moment], Iterator[Sequence[Cell]]]
Columns = Mapping[str | Promise, str]
"""Where each cell comes from, by its heading: attributes with points between them."""

HORSE: Final[Columns] = {lazy("Horse"): "horse"}
FROM_TO: Final[Columns] = {lazy("From"): "first_day", lazy("To"): "last_day"}


def _of(title: str | Promise, model: type[Model], columns: Columns) -> tuple[str | Promise, list[str | Promise], Rows]:
    """Return a table: its title, its headings, and what yields its rows."""
    paths = [path.split(".") for path in columns.values()]
    related = sorted({path[0] for path in paths} & _keys(model))

    def rows(moment: Moment) -> Iterator[Sequence[Cell]]:
        found = moments.rows(model, moment)
        for row in found.select_related(*related) if related else found:
            yield [_cell(row, path) for path in paths]

    return title, list(columns), rows


def _keys(model: type[Model]) -> set[str]:
    return {field.name for field in model._meta.concrete_fields if field.is_relation}


def _cell(row: Any, path: Sequence[str]) -> Cell:
    """Return what an attribute of a row holds, in words where it names something."""
    value = row
    for name in path:
        shown = getattr(value, f"get_{name}_display", None)
        value = shown() if shown is not None else getattr(value, name, None)
        if value is None:
            return None
    if isinstance(value, Person):
        return _("name removed") if value.erased_at else value.name
    if isinstance(value, Model):
        return str(value)
    if isinstance(value, str | int | float) or not isinstance(value, date):
        return value if isinstance(value, int | float) else str(value)
    return _local(value)


def _local(value: date) -> date:
    """Return a day, or a moment on the yard's clock without its zone, as spreadsheets have it."""
    stamp = getattr(value, "astimezone", None)
    moved: date = value if stamp is None else stamp(clock.place().zone).replace(tzinfo=None)
    return moved


def _people(moment: Moment) -> Iterator[Sequence[Cell]]:
    """Yield people with what they are there for; of those who were erased only that."""
    for one in moments.rows(Person, moment).prefetch_related("posts"):
        roles = ", ".join(str(post.get_role_display()) for post in one.posts.all())
        if one.erased_at:
            yield [_("name removed"), roles, "", "", "", None, None, None, None, one.is_active]
            continue
        yield [
            one.name, roles, one.email, one.phone, one.barn, one.born, one.weight_kg, one.claim_lb, one.minimum_lb,
            one.is_active,
        ]  # fmt: skip


def _rations(moment: Moment) -> Iterator[Sequence[Cell]]:
    """Yield one row a feed and feed time of a ration."""
    feeds = dict(Feed.objects.values_list("pk", "name"))
    for one in moments.rows(Ration, moment).select_related("horse"):
        for amount in one.amounts:
            feed = feeds.get(amount.get("feed"), "?")
            yield [one.horse.name, one.first_day, str(amount.get("time", "")), feed, amount.get("kg"), one.note]


TABLES: Final[Mapping[str, tuple[str | Promise, Sequence[str | Promise], Rows]]] = {
    "horses": _of(lazy("Horses"), Horse, {
        lazy("Horse"): "name", lazy("Named"): "named", lazy("Foaled"): "foaled", lazy("Foaled on"): "foaled_on",
        lazy("Sex"): "sex", lazy("Gelded on"): "gelded_on", lazy("Sire"): "sire", lazy("Dam"): "dam",
        lazy("Colour"): "colour", lazy("Markings"): "markings", lazy("Passport"): "passport",
        lazy("Microchip"): "microchip", lazy("Life number"): "life_number", lazy("Came"): "joined",
        lazy("Left"): "left", lazy("Looked after by"): "carer",
    }),
    "people": (lazy("People"), [
        lazy("Name"), lazy("Roles"), lazy("E-mail"), lazy("Phone"), lazy("Barn"), lazy("Born"), lazy("Weight (kg)"),
        lazy("Claim (lb)"), lazy("Lowest riding weight (lb)"), lazy("Here now"),
    ], _people),
    "shares": _of(lazy("Shares"), Share, {
        **HORSE, lazy("Owner"): "owner", lazy("Parts"): "numerator", lazy("Of"): "denominator", lazy("How"): "kind",
        lazy("Managing"): "managing", lazy("Leased from"): "leased_from", **FROM_TO,
    }),
    "boxes": _of(lazy("Boxes"), Stand, {
        **HORSE, lazy("Barn"): "box.barn", lazy("Box"): "box.name", lazy("From"): "first_day",
    }),
    "moves": _of(lazy("Where horses were"), Move, {
        **HORSE, lazy("Where"): "to", lazy("From"): "first_day", lazy("Note"): "note",
    }),
    "handicap-marks": _of(lazy("Handicap marks"), OfficialMark, {
        **HORSE, lazy("Ground"): "ground", lazy("Country"): "country", lazy("Mark (lb)"): "value",
        lazy("From"): "effective",
    }),
    "declarables": _of(lazy("What must be declared"), Declarable, {
        **HORSE, lazy("What"): "what", lazy("On"): "happened_on", lazy("Declared on"): "declared_on",
    }),
    "cautions": _of(lazy("Cautions"), Caution, {
        **HORSE, lazy("When it matters"): "about", lazy("Caution"): "text",
        lazy("Heaviest rider (kg)"): "heaviest_kg", lazy("Apart from the other sex"): "apart", **FROM_TO,
    }),
    "engagements": _of(lazy("Races entered"), Engagement, {
        **HORSE, lazy("Race"): "race", lazy("Course"): "course", lazy("Country"): "country", lazy("Day"): "day",
        lazy("Off, yard's time"): "off_at", lazy("Distance (m)"): "distance_m",
        lazy("Enter by, yard's time"): "enter_by", lazy("Confirm by, yard's time"): "confirm_by",
        lazy("Declare by, yard's time"): "declare_by", lazy("How far"): "state",
    }),
    "gallops": _of(lazy("Gallops"), Gallop, {
        lazy("Gallop"): "name", lazy("Ground"): "surface", lazy("Length (m)"): "length_m", lazy("Rise (m)"): "rise_m",
        lazy("Horses of a morning"): "slots", lazy("In use"): "used",
    }),
    "things": _of(lazy("Things of the yard"), Thing, {
        lazy("What"): "kind", lazy("Name"): "name", lazy("In use"): "used",
    }),
    "feeds": _of(lazy("Feeds"), Feed, {
        lazy("Feed"): "name", lazy("Kind"): "kind", lazy("Energy (MJ/kg as fed)"): "energy_mj_kg",
        lazy("Dry matter (share)"): "dry_matter", lazy("Starch (share)"): "starch", lazy("Protein (share)"): "protein",
        lazy("In use"): "used",
    }),
    "feed-batches": _of(lazy("Deliveries of feed"), FeedBatch, {
        lazy("Feed"): "feed", lazy("Batch"): "number", lazy("Delivered on"): "delivered_on", lazy("Amount (kg)"): "kg",
        lazy("Opened on"): "opened_on", lazy("Finished on"): "finished_on",
    }),
    "rations": (lazy("Rations"), [
        lazy("Horse"), lazy("From"), lazy("Feed time"), lazy("Feed"), lazy("Amount (kg)"), lazy("Note"),
    ], _rations),
    "shifts": _of(lazy("Hours"), Shift, {
        lazy("Who"): "person", lazy("Day of the week (Monday 0)"): "weekday", lazy("Starts"): "starts",
        lazy("Ends"): "ends", lazy("Rides"): "rides", **FROM_TO,
    }),
    "days-off": _of(lazy("Days off"), DayOff, {lazy("Who"): "person", lazy("Why"): "why", **FROM_TO}),
    "jockeys-bound": _of(lazy("Jockeys bound"), Bond, {
        lazy("Who"): "person", lazy("How"): "kind", lazy("To whom"): "owner", lazy("Country"): "country", **FROM_TO,
    }),
}  # fmt: skip
"""The tables by the names under which they are asked for: title, headings, rows."""
