"""`upsides demo` and `upsides rules`."""

import json
import subprocess
import sys
from pathlib import Path


def test_demo_stands_ready_and_can_be_built_again(tmp_path: Path) -> None:
    """The demo makes a library with results, a fit and books; again on top of it nothing changes."""
    # In processes of their own: the books of one library only can be open in a process.
    command = [sys.executable, "-c", "from upsides.cli.main import main; main()", "demo", "--json", "--library"]
    first, again = (
        subprocess.run([*command, str(tmp_path / "demo")], capture_output=True, text=True, check=True) for _ in range(2)
    )
    found = json.loads(first.stdout)
    assert set(found) == {"library", "today", "races", "runs", "string", "horses"}
    assert found["string"] == 24
    assert json.loads(again.stdout) == found
    assert "100 %  ready" in first.stderr
    assert (tmp_path / "demo" / "fits" / found["today"] / "manifest.json").exists()


def test_rules_come_with_their_sources(ask, run) -> None:
    """Every rule in force says its topic, value, source and how sure it is; in words too."""
    found = ask("rules", "Britain", "--on", "2024-05-01")
    assert (found["jurisdiction"], found["on"]) == ("Britain", "2024-05-01")
    assert found["rules"]
    assert all({"topic", "name", "value", "source", "confidence"} <= set(rule) for rule in found["rules"])
    text = run("rules", "Britain", "--on", "2024-05-01").stdout
    assert found["rules"][0]["source"] in text


def test_rules_need_a_day(run) -> None:
    """Rules are dated, so a day must be named."""
    result = run("rules", "Britain")
    assert result.exit_code == 2
    assert "--on" in result.stderr


def test_rules_of_nowhere_are_refused(run) -> None:
    """A jurisdiction that nothing is known of is named in the refusal."""
    result = run("rules", "Atlantis", "--on", "2024-05-01")
    assert result.exit_code == 1
    assert "Atlantis" in result.stderr
