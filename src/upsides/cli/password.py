"""`upsides password`: let somebody back in whose password is lost."""

from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option


@click.command()
@click.argument("login", default="")
@click.option("--password", envvar="UPSIDES_PASSWORD", help="Better left out: it is then asked for, unseen.")
@library_option
@json_option
def password(login: str, password: str | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Set a new password for LOGIN, or for the trainer. The second step is taken off, and old sign-ins are ended."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.services.beginning import new_password

    secret = password or click.prompt("New password", hide_input=True, confirmation_prompt=True, err=True)
    person = new_password(login, secret)
    answer(as_json, {"login": person.login}, [f"{person.name} now signs in as {person.login} with the new password."])
