"""`upsides rules`."""


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
