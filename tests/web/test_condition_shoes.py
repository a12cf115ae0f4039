"""What is wrong with a horse's shoes, on the page about how it is."""

from html import unescape

import pytest
from django.urls import reverse

import worlds
from mornings import EVE, Hands, enter
from upsides.books.queries import moments
from worlds import ClientAs

pytestmark = pytest.mark.django_db
SAID = "omething is wrong with its shoes (1 entry): ask the farrier before it works"


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


def test_a_shoe_is_for_the_farrier_before_it_works(hands: Hands, client_as: ClientAs) -> None:
    """A loose shoe is told apart from what the vet is asked about, with who is asked before the horse works; in doubt
    the vet is named for a shoe, too."""
    horse = moments.in_training(moments.now()).order_by("pk").first()
    assert horse is not None

    def page() -> str:
        answer = client_as("trainer").get(reverse("horse_condition", args=[horse.pk]))
        return unescape(answer.content.decode()).replace("\u00a0", " ")

    enter("leg", horse, hands.back(hours=3), "carer", limb="off_fore", place="fetlock", signs="filling")
    enter("shoe", horse, hands.back(hours=2), "carer", wrong="loose", feet="off_hind")
    assert f"1 entry to ask the vet about; s{SAID}. Ask the vet." in page()
    assert "Shoe: loose; off hind." in page()
    enter("legs_felt", horse, hands.back(hours=1))
    assert f"S{SAID}. In doubt ask the vet." in page()
    assert "Of its shoes the vet, too, where the foot is warm or sore or it does not go level." in page()
