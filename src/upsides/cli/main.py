"""The `upsides` command: a group that imports a command's module only when that command is asked for."""

import json
import os
from importlib import import_module
from typing import Any

import click

from upsides.cli.options import wants_json
from upsides.errors import UpsidesError

for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")  # two that wait for each other on a busy machine are slower than one

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of the signal, as shells report it."""

COMMANDS = {
    "backup": ("upsides.cli.backup:backup", "Write the books and the library into one file."),
    "black-type": ("upsides.cli.black_type:black_type", "Say what black type is worth, by the trainer's own number."),
    "check": ("upsides.cli.check:check", "Say whether the books and the library are well."),
    "condition": ("upsides.cli.condition:condition", "Say how a horse is: fit, fresh, anything for the vet."),
    "deadlines": ("upsides.cli.deadlines:deadlines", "Say what has to be said of races, and by when."),
    "demo": ("upsides.cli.demo:demo", "Build the invented yard with its answers worked out."),
    "draw": ("upsides.cli.draw:draw", "Say what a stall is worth at a course over a distance."),
    "evaluate": ("upsides.cli.evaluate:evaluate", "Judge the chances by a walk through later races."),
    "export": ("upsides.cli.export:export", "Give out the yard's tables, or the whole yard as an archive."),
    "fit": ("upsides.cli.fit:fit", "Work out what every run and every horse was worth."),
    "gallop": ("upsides.cli.gallop:gallop", "Draw the yard's gallops."),
    "import": ("upsides.cli.importing:import_", "Take in the yard's own tables, or rebuild a yard from an archive."),
    "jobs": ("upsides.cli.jobs:jobs", "Do the long jobs that pages and schedules ask for."),
    "calls": ("upsides.cli.calls:calls", "Say how what people called has stood up beside the tool."),
    "look-at": ("upsides.cli.look_at:look_at", "Say whom to look at first, and why."),
    "lots": ("upsides.cli.lots:lots", "Plan who rides what in which lot of a morning."),
    "morning": ("upsides.cli.morning:morning", "Say whom to look at first, who goes out, what is due."),
    "new": ("upsides.cli.new:new", "Set up a yard: its name, its trainer, its first horses."),
    "password": ("upsides.cli.password:password", "Let somebody back in whose password is lost."),
    "pedigree": ("upsides.cli.pedigree:pedigree", "Say how inbred an animal is; check a table of pedigrees."),
    "plan": ("upsides.cli.plan:plan", "Plan the work of a horse up to its race, and of the string."),
    "placing": ("upsides.cli.placing:placing", "Say which of the string may run in which race."),
    "programme": ("upsides.cli.programme:programme", "Take in programmes of races to come."),
    "races": ("upsides.cli.races:races", "Say in which races to come a horse may run."),
    "rate": ("upsides.cli.rate:rate", "Say what one horse is worth, with its error and its runs."),
    "read": ("upsides.cli.read:read", "Say what stands in files of trackers and heart monitors."),
    "restore": ("upsides.cli.restore:restore", "Bring a backup back into a new folder."),
    "results": ("upsides.cli.results:results", "Bring published results into the library."),
    "rules": ("upsides.cli.rules:rules", "Show the rules in force on a day, with their sources."),
    "sale": ("upsides.cli.sale:sale", "Keep lists of sale lots in the books."),
    "serve": ("upsides.cli.serve:serve", "Show the pages, at a local address or for a whole yard."),
    "trip": ("upsides.cli.trip:trip", "Say which trip a horse wants, why, and what would tell more."),
    "win-costs": ("upsides.cli.win_costs:win_costs", "Say what a win would close, open, and put on its back."),
    "work": ("upsides.cli.work:work", "List the works of a horse, with their times."),
}


class Commands(click.Group):
    """Commands by name, imported on use; anything refused in plain words ends without a traceback."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 -- click passes it
        """Return the names in order."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 -- click passes it
        """Import and return one command."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(import_module(module), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the words kept here, importing none."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][1]) for name in self.list_commands(ctx)])

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; print what it refuses, as JSON too where that was asked for."""
        try:
            return super().invoke(ctx)
        except UpsidesError as error:
            _tell(ctx, type(error).__name__, str(error))
            raise click.ClickException(str(error)) from None
        except OSError as error:
            what = f"{error.filename}: {error.strerror}" if error.filename else str(error)
            reason = f"{what}; nothing half-written is left. Name a folder that can be written to, with room in it"
            _tell(ctx, type(error).__name__, reason)
            raise click.ClickException(reason) from None
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:  # what a database or a disk says is told in words; the rest goes on as it was
            from upsides.books.troubles import in_words

            if (words := in_words(error)) is None:
                raise
            _tell(ctx, type(words).__name__, str(words))
            raise click.ClickException(str(words)) from None
        except KeyboardInterrupt:
            click.echo("Stopped before the end.", err=True)
            raise click.exceptions.Exit(INTERRUPTED) from None


def _tell(ctx: click.Context, kind: str, message: str) -> None:
    """Print an error as JSON where the command was asked to answer so."""
    if wants_json(ctx):
        click.echo(json.dumps({"error": {"kind": kind, "message": message}}, ensure_ascii=False))


@click.group(cls=Commands)
@click.version_option(package_name="upsides")
def main() -> None:
    """Which trip, which work, which race: answers for people who train racehorses, with their reasons."""
