"""Calling a horse: said before the tool's answer is shown, told beside it afterwards, and scored for few."""

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

import worlds
from mornings import Hands, who
from upsides.books.models import Call, Engagement, Horse, Inside, Person, Sight, Yard
from upsides.books.models.answer import CALLS
from upsides.books.queries import moments
from upsides.books.queries.calls import Called
from upsides.books.services.answers import store
from upsides.condition.called import Why
from upsides.condition.calls import RanAfter
from upsides.web.condition.call_words import came_words
from upsides.web.condition.scores_page import ran_words
from worlds import ClientAs

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 6, 20, 6, tzinfo=UTC)
SHARES = {"off": [x / 10 for x in range(-100, 101)], "spread": 6.0, "well": {"quiet": 0.9, "after something": 0.6}}


@pytest.fixture
def horse(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Horse:
    Hands(monkeypatch, MORNING)
    store(CALLS, moments.now().day, SHARES, {})
    found = moments.in_training(moments.now()).order_by("pk").first()
    assert found is not None
    return found


@pytest.fixture
def trainer(horse: Horse, client_as: ClientAs) -> Client:
    return client_as("trainer")


def read(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def answer_of(page: str) -> str:
    found = re.search(r'<p class="answer">(.*?)</p>', page)
    assert found
    return found[1]


def of(horse: Horse) -> str:
    return reverse("horse_call", args=[horse.pk])


def send(client: Client, horse: Horse, **said: str) -> str:
    form = {f"{about}-id": str(uuid4()) for about in said} | said
    answer = client.post(of(horse), form, follow=True)
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def scored(author: str, horse: Horse, about: str, told: list[tuple[float, bool, float | None]]) -> None:
    """Keep calls of earlier days, with what came of them."""
    came = {}
    for back, (chance, shown, tool) in enumerate(told, start=40):
        row = Call.objects.create(
            client_id=uuid4(), horse=horse, author=who(author), about=about, chance=chance, unseen=True, known={},
            recorded_at=MORNING - timedelta(days=back),
        )  # fmt: skip
        came[str(row.pk)] = {"came": shown, "why": "ran", "day": str(date(2026, 6, 1)), "tool": tool}
    before = dict(moments.answer(CALLS, moments.now()).values)  # type: ignore[union-attr]  # it is there
    store(CALLS, moments.now().day, before | {"came": before.get("came", {}) | came}, {})


def test_nothing_of_the_tool_stands_on_the_form(trainer: Client, horse: Horse) -> None:
    """Before anything is said the page asks five questions, and neither shows nor logs an answer of the tool's."""
    page = read(trainer, of(horse))
    assert answer_of(page) == f"Say what you think of {horse.name} before the tool's answer is shown."
    assert page.count('<fieldset class="question">') == 5
    assert "The tool</th>" not in page
    assert not Sight.objects.exists()


def test_what_was_called_before_waits_for_one_s_own(trainer: Client, horse: Horse) -> None:
    """Neither others' verdicts nor earlier answers of the tool's are shown before something was said today."""
    scored("assistant", horse, "fit", [(0.3, True, 0.66)])
    assert "66 in 100" not in read(trainer, of(horse))
    assert "30 in 100" not in read(trainer, of(horse))
    page = send(trainer, horse, would_run="95")
    assert "66 in 100" in page
    assert "30 in 100" in page


def test_said_first_and_told_beside_it(trainer: Client, horse: Horse) -> None:
    """Once said, one's own chance stands beside the tool's of that moment, with what that rests on, and the look is
    written down."""
    page = send(trainer, horse, fresh="70", would_run="95")
    assert (
        answer_of(page) == f"You called {horse.name} today: fresh and would run. The tool's answer stands beside yours."
    )
    assert re.search(r"Fresh</th><td[^>]*>70 in 100</td><td[^>]*>90 in 100</td>", page)
    assert "The signs of condition were tried" in page
    assert page.count('<fieldset class="question">') == 3
    assert Sight.objects.filter(what=Inside.FIGURES, horse=horse).exists()
    assert set(Call.objects.values_list("about", "chance", "unseen")) == {
        ("fresh", 0.7, True), ("would run", 0.95, True),
    }  # fmt: skip


def test_a_refused_call_keeps_what_was_chosen(trainer: Client, horse: Horse) -> None:
    """A chance for a trip without the trip is refused in words; nothing is kept, and what was chosen stands."""
    answer = trainer.post(of(horse), {"fit": "90", "fit-id": str(uuid4()), "trip": "50", "trip-id": str(uuid4())})
    assert answer.status_code == 400
    page = unescape(answer.content.decode())
    assert "choose the trip as well" in page
    assert 'name="fit" value="90" checked' in page
    assert not Call.objects.exists()


def test_a_trip_is_called_in_furlongs(trainer: Client, horse: Horse) -> None:
    """The trip is kept in furlongs and read back as a trip."""
    page = send(trainer, horse, trip="50", **{"trip-trip": "7.5"})
    assert Call.objects.get().trip_f == 7.5
    assert "7½f, 50 in 100" in page


def test_taken_back_with_a_button(trainer: Client, horse: Horse) -> None:
    """A call of today is taken back from its page, and the question is asked again."""
    send(trainer, horse, fit="50")
    trainer.post(reverse("call_take_back", args=[Call.objects.get().pk]))
    assert read(trainer, of(horse)).count('<fieldset class="question">') == 5
    assert Call.objects.filter(withdrawn=True).count() == 1


def test_the_horses_with_a_run_to_come_are_listed(trainer: Client, horse: Horse) -> None:
    """The list leads to each horse's form, soonest first, and says what was called today."""
    race = {"race": "Maiden", "course": "Moor", "zone": "Europe/London", "day": MORNING.date() + timedelta(days=2)}
    Engagement.objects.create(horse=horse, **race)
    page = read(trainer, reverse("calls"))
    assert answer_of(page) == "1 horse has a run in the next fortnight; you called 0 of them today."
    assert f'href="{of(horse)}"' in page
    send(trainer, horse, fit="70")
    page = read(trainer, reverse("calls"))
    assert "called today: fit" in page
    assert answer_of(page).endswith("you called 1 of them today.")


def test_scores_stand_person_beside_tool(trainer: Client, horse: Horse) -> None:
    """The page opens with who was nearer, and has parts, ends and the picture with its words."""
    scored("trainer", horse, "first four", [(0.9, True, 0.5)] * 20 + [(0.1, False, 0.5)] * 20 + [(0.9, False, 0.5)])
    page = read(trainer, reverse("call_scores"))
    assert answer_of(page) == "Of 41 calls 41 came true or did not; you were nearer than the tool on first four."
    assert (
        "0.030 over 41. On the 41 of them that the tool called too they score 0.030 and the tool 0.250: the calls were "
        "nearer by 0.220" in page
    )
    assert "Said by the person, 90 in 100: 95 % of 21 came true." in page
    assert len(re.findall(r"<svg", page)) == 1
    assert "None stays open." in page


def test_the_tool_stands_beside_the_same_calls(trainer: Client, horse: Horse) -> None:
    """Where the tool said nothing to some calls, the person's score on those that it called too stands beside its own;
    the score of all calls stands by itself, and the dots are of the calls that both made."""
    scored("trainer", horse, "fit", [(0.9, True, 0.5)] * 4 + [(0.9, False, None)] * 2)
    page = read(trainer, reverse("call_scores"))
    rows = re.findall(r'<th scope="row">([^<]+)</th><td class="number" data-label="Score">([0-9.]+)</td>', page)
    assert rows == [
        ("You, all 6", "0.277"), ("You, the 4 that the tool called too", "0.010"), ("The tool, the same 4", "0.250"),
    ]  # fmt: skip
    assert "0.277 over 6. On the 4 of them that the tool called too they score 0.010 and the tool 0.250" in page
    assert "Said by the person, 90 in 100: 100 % of 4 came true." in page


def test_luck_is_called_luck(trainer: Client, horse: Horse) -> None:
    """A difference within twice its error is not told as one, and few calls are said to say little."""
    scored("trainer", horse, "fit", [(0.9, True, 0.7), (0.9, False, 0.7), (0.5, True, 0.6)])
    page = read(trainer, reverse("call_scores"))
    assert answer_of(page).endswith("who is nearer, you or the tool, cannot be told from luck.")
    assert "So few calls say next to nothing." in page


def test_others_scores_are_for_the_trainer(trainer: Client, horse: Horse, client_as: ClientAs) -> None:
    """The trainer reads everybody's under their names; the assistant only his own."""
    scored("trainer", horse, "fit", [(0.9, True, 0.7)])
    scored("assistant", horse, "fit", [(0.3, True, 0.7)])
    assert f"<summary>{who('assistant').name}</summary>" in read(trainer, reverse("call_scores"))
    assistant = read(client_as("assistant"), reverse("call_scores"))
    assert "<summary>" + who("trainer").name not in assistant
    assert "0.490 over 1" in assistant


def test_trips_and_would_run_are_never_scored(trainer: Client, horse: Horse) -> None:
    """Of would run shares are told, of trips that they stay open; neither has a score."""
    scored("trainer", horse, "would run", [(0.9, True, None)] * 3 + [(0.1, False, None)] * 2)
    send(trainer, horse, trip="50", **{"trip-trip": "8"})
    page = read(trainer, reverse("call_scores"))
    assert "Said to run: 3, of which 3 ran" in page
    assert "1 call of a best trip stands and stays open" in page
    assert "<svg" not in page


def test_as_of_an_earlier_day_nothing_can_be_called(trainer: Client, horse: Horse) -> None:
    """Looking back, the page shows what had been said then, and no form."""
    for model in (Horse, Person, Yard):
        model.history.update(history_date=MORNING - timedelta(days=400))
    send(trainer, horse, fit="70")
    page = read(trainer, of(horse) + "?as_of=2026-06-19T12:00")
    assert '<fieldset class="question">' not in page
    assert "70 in 100" not in page


def test_who_has_no_figures_has_no_calls(horse: Horse, client_as: ClientAs) -> None:
    """A rider, to whom figures are not open, gets neither the list nor the form nor scores."""
    for address in (reverse("calls"), reverse("call_scores"), of(horse)):
        assert client_as("rider").get(address).status_code in {302, 403}


def test_a_share_near_all_has_two_ends() -> None:
    """How often horses ran stands between two different ends, with a decimal where it takes one."""
    plain = ran_words(RanAfter("would run", 40, 36, 0.881, 0.78, 0.95))
    assert plain.endswith("so about 88 in 100 do, nine in ten between 78 in 100 and 95 in 100.")
    near = ran_words(RanAfter("would not run", 600, 600, 0.9983, 0.9952, 0.99992))
    assert near.endswith("so about 99.8 in 100 do, nine in ten between 99.5 in 100 and 99.9 in 100.")


@pytest.mark.parametrize(
    ("about", "why", "words"),
    [
        ("fresh", "nobody looked", "open: it did not run, and no vet looked at it"),
        ("fresh", "no figure", "open: it ran on 9 Jun 26 without a figure, and no vet looked at it"),
        (
            "fresh",
            "no level",
            "open: it ran on 9 Jun 26, but no level was held when it was called, and no vet looked at it",
        ),
        ("fit", "no figure", "open: its run on 9 Jun 26 has no figure"),
        ("fit", "no level", "open: no level was held when it was called"),
    ],
)
def test_a_call_that_stays_open_says_why(about: str, why: Why, words: str) -> None:
    """A horse that ran is not told as one that did not: its run has no figure, or no level was held."""
    one = Called(Call(about=about, chance=0.7), Person(), None, why, date(2026, 6, 9), None)
    assert came_words(one).replace("\u00a0", " ") == words
