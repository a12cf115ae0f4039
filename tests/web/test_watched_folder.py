"""What the page of recordings says of the folder that is watched."""

import pytest

from upsides.books.jobs.worker import INCOMING_EVERY, MIND_S
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def test_the_watched_folder_is_told_where_it_can_be_used(loaded: object, client_as: ClientAs) -> None:
    """Who may let devices send reads that the folder incoming is watched and that a file has to stand still; and the
    worker looks often enough for that to be true."""
    assert "once it has stood unchanged for half a minute" in client_as("trainer").get("/recordings/").content.decode()
    assert INCOMING_EVERY * MIND_S == 30.0
