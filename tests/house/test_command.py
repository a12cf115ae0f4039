"""The command as a whole: what it lists, what it loads, which options its commands share."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from upsides.cli.main import COMMANDS, main

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("altair", "deltalake", "django", "granian", "numba", "numpy", "polars", "pyarrow", "scipy", "vl_convert")


def _commands() -> Iterator[tuple[str, click.Command]]:
    """Yield every command that does something, with its full name."""
    context = click.Context(main)
    for name in sorted(COMMANDS):
        command = main.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from ((f"{name} {inner}", found) for inner, found in sorted(command.commands.items()))
        else:
            yield name, command


ALL = dict(_commands())


def _options(name: str) -> set[str]:
    return {option for parameter in ALL[name].params for option in parameter.opts}


def test_help_lists_every_command() -> None:
    """`upsides --help` names each command and says in a line what it does."""
    shown = CliRunner().invoke(main, ["--help"])
    assert shown.exit_code == 0
    for name, (_, about) in COMMANDS.items():
        line = next(line.split() for line in shown.output.splitlines() if line.split()[:1] == [name])
        assert line[1:] == about.split()


def test_nothing_heavy_is_loaded_for_help() -> None:
    """A fresh process that imports the command's module and prints its help has loaded no heavy package."""
    code = (
        "import sys\n"
        "from upsides.cli.main import main\n"
        "main(['--help'], standalone_mode=False)\n"
        f"print('loaded', *({set(HEAVY)!r} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded"


@pytest.mark.parametrize("name", ALL)
def test_every_command_explains_itself(name: str) -> None:
    """`upsides COMMAND --help` works, with a sentence of its own and a word on every option."""
    shown = CliRunner().invoke(main, [*name.split(), "--help"])
    assert shown.exit_code == 0
    assert ALL[name].help
    assert [option.name for option in ALL[name].params if isinstance(option, click.Option) and not option.help] == []


@pytest.mark.parametrize("name", ALL)
def test_commands_share_their_options(name: str) -> None:
    """Every command has `--json` and `--library`, but for the one whose argument is the folder to begin in."""
    options = _options(name)
    assert "--library" in options or name == "new"
    assert "--json" in options


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_answer_is_documented(name: str) -> None:
    """docs/json.md has a section for every command with `--json`."""
    text = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
    assert f"\n## upsides {name}\n" in text
