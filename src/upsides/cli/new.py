"""`upsides new`: from nothing to a yard with its first ten horses."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from upsides.cli.options import answer, json_option
from upsides.errors import UpsidesError, YardStandsError

if TYPE_CHECKING:
    from upsides.books.services.horses import Described

T = TypeVar("T")
FIRST_HORSES = 10
MANY_ZONES = {"GB": "Europe/London", "IE": "Europe/Dublin", "FR": "Europe/Paris", "HK": "Asia/Hong_Kong",
              "JP": "Asia/Tokyo", "AU": "Australia/Sydney", "US": "America/New_York"}  # fmt: skip


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--yard", help="Name of the yard.")
@click.option("--country", help="Country whose rules hold, as GB, IE or FR.")
@click.option("--zone", help="Time zone, as Europe/London.")
@click.option("--trainer", help="Name of the trainer.")
@click.option("--login", help="Name under which the trainer signs in.")
@click.option("--password", envvar="UPSIDES_PASSWORD", help="Better left out: it is then asked for, unseen.")
@click.option("--horses", type=click.Path(path_type=Path), help="Table of horses: name, foaled, sex, sire, dam.")
@json_option
def new(
    folder: Path,
    yard: str | None,
    country: str | None,
    zone: str | None,
    trainer: str | None,
    login: str | None,
    password: str | None,
    horses: Path | None,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Set up a yard in FOLDER, asking for what is not given. Stopped half-way, it goes on where it was."""
    from upsides.books.services.opening import open_books
    from upsides.results.library import Library

    Library.create(folder)
    open_books(folder)
    from upsides.books import clock
    from upsides.books.models import Horse, Yard
    from upsides.books.services import beginning
    from upsides.books.services.horses import enter_horses, read_horses

    begun = beginning.begun()
    today = clock.today()
    listed = read_horses(horses, today) if horses else []
    few = Horse.objects.count() < FIRST_HORSES
    if begun.trainer and not listed and not few:
        raise YardStandsError(folder, begun.yard)
    if not begun.trainer:
        _begin(folder, begun.yard, (yard, country, zone), (trainer, login, password))
    if listed:
        enter_horses(listed, today, folder)
    elif few and not as_json:
        _ask_horses(folder, today)
    count = Horse.objects.filter(left=None).count()
    name = Yard.objects.values_list("name", flat=True).get()
    lines = [f"{name} stands in {folder} with {count} horses.", f"Start it: upsides serve --library {folder}"]
    answer(as_json, {"library": str(folder), "yard": name, "horses": count}, lines)


def _begin(folder: Path, known: str, place: tuple[str | None, ...], person: tuple[str | None, ...]) -> None:
    from upsides.books.services import beginning

    yard, country, zone = place
    trainer, login, password = person
    click.echo(f"A new yard in {folder}. What is entered can be changed later.", err=True)
    name = yard or click.prompt("Name of the yard", default=known or None, err=True)
    where = (country or click.prompt("Country whose rules hold", default="GB", err=True)).upper()
    hours = zone or click.prompt("Time zone", default=MANY_ZONES.get(where, "UTC"), err=True)
    beginning.check_place(where, hours)
    who = trainer or click.prompt("Your name, as it is called in the yard", err=True)
    called = login or click.prompt("Name to sign in with", default=who.split()[-1].lower(), err=True)
    secret = password or _until_good(lambda: _new_password(called, who))
    beginning.check_password(secret, called, who)
    beginning.begin_yard(name, where, hours)
    beginning.begin_trainer(who, called, secret)


def _new_password(login: str, name: str) -> str:
    from upsides.books.services.beginning import check_password

    words = "Password, 10 characters or more (a few words do well)"
    secret: str = click.prompt(words, hide_input=True, confirmation_prompt=True, err=True)
    check_password(secret, login, name)
    return secret


def _ask_horses(folder: Path, today: date) -> None:
    """Ask for horses one by one, entering each at once, so that none is lost."""
    from upsides.books.models import Horse
    from upsides.books.services.horses import enter_horses

    click.echo(f"The first horses, up to {FIRST_HORSES}. An empty name ends it; more can come from a table.", err=True)
    for number in range(Horse.objects.count() + 1, FIRST_HORSES + 1):
        name = click.prompt(f"{number}. Name", default="", show_default=False, err=True)
        if not name.strip():
            return
        enter = lambda name=name: enter_horses([_ask_horse(name, today)], today, folder)  # noqa: E731 -- asked again
        _until_good(enter)


def _ask_horse(name: str, today: date) -> "Described":
    from upsides.books.services.horses import describe

    foaled = click.prompt("   Foaled in", err=True)
    sex = click.prompt("   Sex (colt, filly, gelding, horse, mare, ridgling)", err=True)
    sire = click.prompt("   Sire", default="", show_default=False, err=True)
    dam = click.prompt("   Dam", default="", show_default=False, err=True)
    return describe(name, str(foaled), sex, sire, dam, today=today)


def _until_good(ask: Callable[[], T]) -> T:
    """Ask again until what is typed can be used."""
    while True:
        try:
            return ask()
        except UpsidesError as error:
            click.echo(f"{error}.", err=True)
