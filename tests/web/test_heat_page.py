"""Heat: typed readings, and what every source says of them."""

import re
from html import unescape

import pytest
from django.test import Client
from django.utils.html import strip_tags

from worlds import ClientAs


def html(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def words(client: Client, address: str) -> str:
    """Return what a page says, in words."""
    found = re.search(r"<main.*?</main>", html(client, address), re.S)
    assert found is not None
    return " ".join(unescape(strip_tags(found[0])).replace("\xa0", " ").split())


def test_heat_is_told_with_every_sources_step(client_as: ClientAs) -> None:
    """33 degrees at 60 in 100 are 34.5 by the bureau's formula; 24 wet and 40 globe are 28.8 by 0.7 and 0.3."""
    said = words(client_as("trainer"), "/heat/?air=33&humidity=60")
    assert "34.5 °C by wet bulb globe: 7 of 7 published steps are reached." in said
    assert "Schroter and Marlin 1995" in said
    assert "28.8 °C by wet bulb globe" in words(client_as("trainer"), "/heat/?wet=24&globe=40")
    assert "call the vet" in said.lower()


@pytest.mark.parametrize("query", ["air=33", "air=hot&humidity=60", "air=33&humidity=140", "wet=20"])
def test_heat_that_cannot_be_read_says_so(client_as: ClientAs, query: str) -> None:
    """Half a reading, or one that cannot be, is told beside its field; nothing is said of the heat."""
    page = html(client_as("trainer"), f"/heat/?{query}")
    assert 'class="errors"' in page
    assert "published steps" not in page
