"""`upsides black-type`: what black type is worth by the trainer's own number."""

from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option


@click.command("black-type")
@click.option("--currency", default="", help="Currency of the prizes, like GBP; without it nothing is changed.")
@click.option("--female", type=float, help="What it is worth for a filly or mare.")
@click.option("--entire", type=float, help="For a colt or horse.")
@click.option("--gelding", type=float, help="For a gelding.")
@click.option("--as", "login", default="", help="Sign-in name of the trainer who says it; the first one without it.")
@library_option
@json_option
def black_type(
    currency: str,
    female: float | None,
    entire: float | None,
    gelding: float | None,
    login: str,
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Say, or with --currency change, what a place among the first three of a group or listed race is worth.

    A currency with no number at all takes the word back.
    """
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries import moments
    from upsides.books.queries.black_type import black_type_history, black_type_said
    from upsides.books.queries.office import office_person
    from upsides.books.services.black_type import say_black_type

    if currency:
        worth = {"female": female, "entire": entire, "gelding": gelding}
        say_black_type(currency, worth, office_person(login))
    elif any(one is not None for one in (female, entire, gelding)):
        raise click.UsageError("Say in which currency: --currency GBP.")
    moment = moments.now()
    said, history = black_type_said(moment), black_type_history(moment)
    lines = [f"{code}: " + ", ".join(f"{build} {value:g}" for build, value in one.items())
             for code, one in sorted(said.items())]  # fmt: skip
    lines += [f"said {one.at:%Y-%m-%d %H:%M} by {one.by or 'somebody'}" for one in history[:1]]
    value = {"worth": said, "said": [{"at": one.at, "by": one.by, "worth": one.worth} for one in history]}
    answer(as_json, value, lines or ["Nothing is said of what black type is worth; it counts for nothing."])
