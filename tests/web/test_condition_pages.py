"""A horse's condition, and whom to look at first: what the pages say, to whom, and that looking is written down."""

import re
from dataclasses import replace
from datetime import timedelta
from html import unescape
from math import nan

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

import worlds
from mornings import EVE, Hands, enter, who
from upsides.books.answers import kept_changes
from upsides.books.models import Horse, Inside, Outing, Person, Sight
from upsides.books.models.answer import EXERCISES, FORM, HEARTS, WATCH
from upsides.books.queries import moments
from upsides.books.queries.condition import condition_of
from upsides.books.queries.visitors import visitor
from upsides.books.services.answers import store
from upsides.books.services.releases import release
from upsides.recordings.heart.trends import Change
from upsides.web.condition.picture import axis_of, days_of
from worlds import ClientAs

NEVER = re.compile(r"\b(safe|cleared|at risk|readiness|overtrain\w*|score)\b", re.IGNORECASE)
"""Words that these pages do not use: nothing is foretold, and nothing is one number."""


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    """A horse that has worked, eaten and been weighed for a month, and went off its feed in the last days."""
    found = moments.in_training(moments.now()).order_by("pk").first()
    assert found is not None
    Horse.objects.filter(pk=found.pk).update(joined="2026-01-05")
    for back in range(40, 0, -1):
        at = hands.back(days=back)
        enter("exercise", found, at, exercise="half_speed" if back % 4 == 0 else "hack_canter")
        enter("feed_left", found, at, left="half" if back < 3 else "nothing")
        if back % 4 == 0:
            enter("mass", found, at, kg=f"{500 + back % 3} kg")
    enter("leg", found, hands.back(hours=3), "carer", limb="off_fore", place="fetlock", signs="filling")
    enter("feed_left", found, hands.back(hours=2), left="all")
    return found


@pytest.fixture
def trainer(hands: Hands, client_as: ClientAs) -> Client:
    return client_as("trainer")


def read(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def of(horse: Horse) -> str:
    return reverse("horse_condition", args=[horse.pk])


def answer_of(page: str) -> str:
    found = re.search(r'<p class="answer">(.*?)</p>', page)
    assert found
    return found[1]


# One horse ------------------------------------------------------------------------------------------------------------


def test_the_page_opens_with_one_sentence_about_all_three(trainer: Client, horse: Horse) -> None:
    """Fit, fresh and the vet stand in the first sentence; the picture and the evidence come after it."""
    page = read(trainer, of(horse))
    assert answer_of(page) == (
        "Whether it is fitter than four months ago cannot be told (fitter: 6 in 10); not as usual for it: appetite; "
        "as usual: mass; 1 entry to ask the vet about."
    )
    assert page.index('class="answer"') < page.index("<svg") < page.index("What tells")
    assert "Ask the vet." in page
    assert "Leg: off fore; fetlock; filling." in page
    assert NEVER.search(page) is None


def test_a_week_ends_yesterday_until_something_is_known_of_today(trainer: Client, horse: Horse, hands: Hands) -> None:
    """Before anybody wrote what it did today the week ends with Friday and says so; then it is the last seven days."""
    page = read(trainer, of(horse))
    assert "In the seven days up to Friday it went" in page
    assert "What it did this day is not known yet; the sums count up to Friday." in page
    enter("exercise", horse, hands.back(hours=1), exercise="hack_canter")
    page = read(trainer, of(horse))
    assert "In the last seven days it went" in page
    assert "up to Friday" not in page


def test_everything_stands_on_one_axis(trainer: Client, horse: Horse) -> None:
    """One picture a width holds all rows that hold anything, with their days in words for those who cannot see it; the
    others are named in one sentence."""
    page = read(trainer, of(horse))
    pictures = re.findall(r'<svg class="picture".*?</svg>', page, re.DOTALL)
    assert len(pictures) == 2
    for picture in pictures:
        for row in ("Distance a week", "Mass, kg", "Left in the manger", "Given"):
            assert row in picture
        assert "Temperature" not in picture
        assert "17 Jun 26: Nothing left" in picture
    nothing = re.findall(r"Nothing in these (\d+) weeks of: ([^<]*)", page)
    assert [weeks for weeks, _rows in nothing] == ["26", "13"]
    assert all(rows.endswith("the heart a minute after work and temperature.") for _weeks, rows in nothing)
    days = re.search(r'class="days".*?</details>', page, re.DOTALL)
    assert days
    assert "Did not eat" in days[0]
    assert page.index("Anything for the vet?") < page.index('class="days"')


def test_hearts_and_figures_stand_on_the_axis(trainer: Client, horse: Horse) -> None:
    """The heart a minute after work and our figures of its runs are rows of the same axis, with their days in words."""
    day = moments.now().day
    Outing.objects.create(
        horse=horse, day=day, began=EVE - timedelta(hours=13), matched="hand", metres=3000.0, fast_m=0.0,
        measured={"speeds": {"24": [3000.0, None, False]}, "heart": {"after": {"60": 131.0}}}, recorded_at=EVE,
    )  # fmt: skip
    told = condition_of(worlds.yard().library, visitor(who("trainer"), barn=False), moments.now(), horse)
    seen = replace(told.signs.seen, runs=[(day - timedelta(days=3), 71.46), (day - timedelta(days=20), nan)])
    axis = axis_of(replace(told, signs=replace(told.signs, seen=seen)), [])
    assert [(one.day, one.value) for one in axis.recovery] == [(day, 131)]
    assert [(one.day, one.value) for one in axis.figures] == [(day - timedelta(days=3), 71.5)]
    cells = dict(days_of(axis))
    assert cells[day][2] == "131 a minute"
    assert cells[day - timedelta(days=3)][4].endswith("figure 71.5\u00a0lb")
    assert "20 Jun 26: 131 a minute" in read(trainer, of(horse))


def test_steps_of_speed_stand_in_numbers(trainer: Client, horse: Horse) -> None:
    """Metres and strides at each step of half a metre a second are there folded, window by window, races among them; a
    step at which it did not go in a window has a dash."""
    for back, metres in ((1, 400.0), (20, 600.0)):
        at = EVE - timedelta(days=back)
        Outing.objects.create(
            horse=horse, day=at.date(), began=at, matched="hand", metres=metres, fast_m=metres,
            measured={"speeds": {"36": [metres if back > 1 else 0.0, None, False], "30": [metres, 60.0, True]}},
            recorded_at=EVE,
        )  # fmt: skip
    page = read(trainer, of(horse))
    steps = page[page.index("By steps of speed") : page.index('class="plain cards weeks"')]
    fast = re.search(r'<th scope="row">18\.0 to 18\.5 m/s</th>(.*?)</tr>', steps, re.DOTALL)
    assert fast
    cells = re.findall(r'data-label="([^"]+)">([^<]+)<', fast[1])
    assert [days for days, _amount in cells] == ["7 days", "30 days", "60 days", "since it entered training"]
    assert cells[0][1] == "–"
    assert re.fullmatch(r"[67]\d\d m, \d+ strides", cells[1][1])
    assert re.search(r">15\.0 to 15\.5 m/s</th><td[^>]*>[0-9]+ m, [0-9]+ strides<", steps)


def test_published_figures_stand_as_what_they_are(trainer: Client, horse: Horse) -> None:
    """Each figure has its population, outcome, source and what goes against it; none is multiplied with another."""
    page = read(trainer, of(horse))
    assert re.search(r"Of \d+ published figures it has reached \d+ and is near to \d+\. They are not added up\.", page)
    assert "racehorses in California" in page
    assert "95 % interval 2.1 to 7.1" in page
    assert "Trainers in Victoria intend a median of 8 km" in page


def test_a_change_of_the_heart_is_told_with_its_range(trainer: Client, horse: Horse) -> None:
    """What was found of its heart is told with its chance in the first sentence, its range in the evidence."""
    day = moments.now().day
    change = Change(horse.pk, day - timedelta(days=22), day - timedelta(days=1), -0.05, -0.08, -0.02, 0.0, 0.9)
    store(HEARTS, day, {"recovery": kept_changes({horse.pk: change})}, {})
    page = read(trainer, of(horse))
    told = "Fitter than three weeks ago, 99 in 100 by the heart a minute after work alone (one other cannot tell);"
    assert answer_of(page).startswith(told)
    assert "-5.0 %, nine in ten between -8.0 and -2.0; by this fitter, 99 in 100." in page.replace("−", "-")


def test_what_stands_out_in_its_readings_is_told(trainer: Client, horse: Horse) -> None:
    """What the watch found of this horse is told, and is not called as usual; what it found of others is not."""
    other = moments.in_training(moments.now()).exclude(pk=horse.pk).order_by("pk").first()
    assert other is not None
    cooler = finding(other) | {"now": 38.5, "lately": 38.5}
    lighter = finding(horse) | {"kind": "mass", "way": "below", "usual": 512.0, "lately": 501.0, "now": 500.0}
    store(WATCH, moments.now().day, {"horses": [finding(horse), lighter, cooler]}, {})
    page = read(trainer, of(horse))
    assert "; not as usual for it: appetite, temperature and mass; 1 entry" in answer_of(page)
    assert "Temperature 38.9 °C on 20 June, above its usual 37.8 °C." in page
    assert "38.5" not in page


@pytest.mark.parametrize(("kind", "words"), [("heart at work", "the heart at work"), ("speed", "speed at 200 beats")])
def test_what_stands_out_at_work_is_in_the_first_sentence(trainer: Client, horse: Horse, kind: str, words: str) -> None:
    """A heart at work or a speed at 200 beats that stands out is not as usual in the first sentence, too."""
    store(WATCH, moments.now().day, {"horses": [finding(horse) | {"kind": kind, "usual": 196.0, "now": 203.0}]}, {})
    assert f"; not as usual for it: appetite and {words};" in answer_of(read(trainer, of(horse)))


def vets_part(page: str) -> str:
    """Return the section of the page on the vet."""
    return page[page.index("Anything for the vet?") : page.index("What was done")]


def test_strides_that_stand_out_are_for_the_vet(trainer: Client, horse: Horse) -> None:
    """A shorter stride and a less even trot that the watch found stand in the vet's part with "Ask the vet.", and in
    the first sentence beside the entry; not among what says whether it is fresh."""
    shorter = {"kind": "stride length", "way": "below", "usual": 6.9, "lately": 6.71, "now": 6.7, "readings": 5}
    uneven = {"kind": "evenness of trot", "way": "below", "usual": 0.95, "lately": 0.88, "now": 0.87, "readings": 5}
    store(WATCH, moments.now().day, {"horses": [finding(horse) | shorter, finding(horse) | uneven]}, {})
    page = read(trainer, of(horse))
    assert answer_of(page).endswith(
        "1 entry to ask the vet about; its strides at trot are less even than they were and its stride is shorter than "
        "it was."
    )
    fresh = page[page.index("Fresh?") : page.index("Anything for the vet?")]
    for words in ("The length of its stride below its usual 6.90 m", "The evenness of its trot below its usual 0.95"):
        assert words in vets_part(page)
        assert words not in fresh
    assert vets_part(page).count("Ask the vet.") == 3


def test_a_temperature_that_leads_the_list_is_for_the_vet(trainer: Client, horse: Horse, hands: Hands) -> None:
    """A horse that is looked at first for its temperature has it in the vet's part of its own page."""
    enter("temperature", horse, hands.back(hours=1), celsius="39.0")
    page = read(trainer, of(horse))
    assert "2 entries to ask the vet about" in answer_of(page)
    assert "Temperature 39.0 °C." in vets_part(page)


def test_a_dull_mind_stands_in_the_answer(trainer: Client, horse: Horse, hands: Hands) -> None:
    """What the trainer and the rider say today, and never said before, is not passed over by the answer."""
    enter("mind", horse, hands.back(hours=1), mind="dull")
    enter("rider_word", horse, hands.back(hours=1), felt="flat")
    words = "not as usual for it: appetite, the rider's word (flat) and its mind (dull); as usual: mass;"
    assert words in answer_of(read(trainer, of(horse)))


def test_the_page_says_what_was_not_worked_out(trainer: Client, horse: Horse) -> None:
    """Of a day without a night's answers the page says so of the watch and of what exercises come to, and not after."""
    unwatched = "What stands out in its readings was not worked out for this day."
    alone = "What exercises come to in this yard was not worked out for this day"
    page = read(trainer, of(horse))
    assert (unwatched in page, alone in page) == (True, True)
    store(WATCH, moments.now().day, {"horses": []}, {})
    store(EXERCISES, moments.now().day, {}, {})
    page = read(trainer, of(horse))
    assert (unwatched in page, alone in page) == (False, False)


def test_with_nothing_open_it_is_still_the_vet_who_is_asked(trainer: Client, horse: Horse, hands: Hands) -> None:
    """Where nothing stands open it is said so, not that nobody entered anything, and in doubt the vet is asked."""
    enter("vet_finding", horse, hands.back(hours=1), "vet", text="sound")
    page = read(trainer, of(horse))
    assert "nothing stands open for the vet" in answer_of(page)
    assert "In doubt ask the vet." in vets_part(page)


def test_looking_is_written_down(trainer: Client, horse: Horse) -> None:
    """Whoever is shown a horse's condition, or the list, is in the log with the page that was shown."""
    trainer.get(of(horse))
    seen = Sight.objects.get()
    assert (seen.what, seen.horse_id, seen.page) == (Inside.FIGURES, horse.pk, of(horse))
    trainer.get(reverse("look_at"))
    assert Sight.objects.filter(page="/look-at/", horse=None).exists()


@pytest.mark.parametrize("login", ["rider", "carer", "vet"])
def test_it_is_not_open_without_a_release(horse: Horse, client_as: ClientAs, login: str) -> None:
    """A rider, a carer or a vet sees that it is not open, and nothing of it; after a release that is written down."""
    client = client_as(login)
    page = read(client, of(horse))
    assert answer_of(page) == "How it is is not open to you."
    assert "<svg" not in page
    assert not Sight.objects.exists()
    assert of(horse) not in read(client, reverse("horse", args=[horse.pk]))
    person, giver = Person.objects.get(login=login), Person.objects.get(login="trainer")
    release(giver, Inside.FIGURES, person=person, horse=horse)
    assert "<svg" in read(client, of(horse))
    assert Sight.objects.get().person == person


def test_an_owner_finds_no_other_s_horse(hands: Hands, client_as: ClientAs) -> None:
    """Of a horse that is not his an owner gets no page."""
    owner = Person.objects.get(login="owner")
    other = Horse.objects.exclude(shares__owner=owner).order_by("pk").first()
    assert other is not None
    assert client_as("owner").get(of(other)).status_code == 404


def test_the_horse_s_page_leads_there(trainer: Client, horse: Horse) -> None:
    """The page of a horse links its condition for whom figures are open."""
    assert of(horse) in read(trainer, reverse("horse", args=[horse.pk]))


def test_the_page_asks_the_books_little(trainer: Client, horse: Horse) -> None:
    """The number of questions to the database does not hang on how long the horse's past is."""
    trainer.get(of(horse))
    with CaptureQueriesContext(connection) as asked:
        trainer.get(of(horse))
    assert len(asked) <= 45


# Whom to look at first ------------------------------------------------------------------------------------------------


def finding(horse: Horse) -> dict[str, object]:
    return {
        "horse": horse.pk, "kind": "temperature", "way": "above", "usual": 37.8, "now": 38.9, "last": "2026-06-20",
        "lately": 38.9, "readings": 1, "since": "2026-06-20", "nearness": 2.0, "new": True, "of_barn": 0.0,
        "of_all": 0.0, "with": [],
    }  # fmt: skip


def test_whom_to_look_at_stands_with_the_reasons(trainer: Client, horse: Horse) -> None:
    """The list says how many, gives each horse's reasons and leads to its condition; scales are told, too."""
    group = {
        "level": "device", "name": "Platform", "kind": "mass", "way": "above", "off": 2.4, "since": "2026-06-11",
        "last": "2026-06-20", "read": 9, "beyond": 2, "nearness": 1.2, "new": True, "or_else": None,
    }  # fmt: skip
    other = moments.in_training(moments.now()).exclude(pk=horse.pk).order_by("pk").first()
    assert other is not None
    store(WATCH, moments.now().day, {"horses": [finding(other)], "groups": [group]}, {"for_nothing": 0.5})
    page = read(trainer, reverse("look_at"))
    assert re.match(r"8 of \d+ to look at first; \d+ more have something that can wait\.", answer_of(page))
    assert page.index(f'href="{of(horse)}"') < page.index(f'href="{of(other)}"')
    assert "Temperature 38.9 °C on 20 June, above its usual 37.8 °C." in page
    assert "Platform may read mass 2 kg too high since 11 June." in page
    waiting = page[page.index("What can wait") : page.index("Barns, scales, trackers")]
    more = re.search(r"(\d+) more have", answer_of(page))
    assert more
    assert len(re.findall(r'<li><a href="/horse/\d+/condition/">', waiting)) == int(more[1])
    assert "Who else asks for eyes" not in page
    assert "Readings were watched up to 20 June 2026. The yard's own limit: about 0.5 a day begin to stand out" in page
    assert "with nothing behind it; each then stands for some days." in page
    assert NEVER.search(page) is None


def test_without_a_watch_the_page_says_so(trainer: Client) -> None:
    """Before the worker has watched anything the list holds what was entered and says so; as of a moment it names the
    command that works it out, which of today works out nothing."""
    page = read(trainer, reverse("look_at"))
    assert "was not worked out for this day; every night does it." in page
    assert "<code>" not in page
    assert "How the string has run was not worked out for this day." in page


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((-4.0, -6.0, -2.0), "The string runs below expectation: −4.0 lb"),
        ((3.0, 1.0, 5.0), "The string runs above expectation: +3.0 lb"),
        ((-1.0, -3.0, 1.0), "How the string has run cannot be told from luck: −1.0 lb"),
    ],
)
def test_is_it_the_yard_or_luck(trainer: Client, ends: tuple[float, float, float], said: str) -> None:
    """A range that lies below nought says below, and what a vet might be asked; one that holds nought says luck."""
    lb, low, high = ends
    yard = {"split": "yard", "name": "", "lb": lb, "low": low, "high": high, "below": 0.9, "runs": 20,
            "raw_lb": lb - 1, "raw_sd": 1.0}  # fmt: skip
    part = yard | {"split": "barn", "name": "Top"}
    store(FORM, moments.now().day, {"yard": yard, "parts": [part], "runs": 200, "year_lb": 0.44}, {})
    page = read(trainer, reverse("look_at"))
    assert said in page
    assert "drawn from there towards the mean of the year's 200 runs, +0.4 lb." in page
    assert ("What a vet might be asked" in page) == (high < 0)
    assert "Top" in page


def test_the_list_is_printed_barn_by_barn(trainer: Client, horse: Horse) -> None:
    """The sheet is a PDF with the horses that stand on the page."""
    answer = trainer.get(reverse("look_at_sheet"))
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/pdf")
    assert answer.content.startswith(b"%PDF-")
    from pypdfium2 import PdfDocument

    text = " ".join(page.get_textpage().get_text_bounded() for page in PdfDocument(answer.content))
    assert horse.name in " ".join(text.split())
    assert "What was seen" in text
    assert "in doubt ask the vet" in " ".join(text.split())


def test_a_barn_phone_shows_no_list(hands: Hands, client_as: ClientAs) -> None:
    """On a phone that lies about in the barn neither the list nor its sheet is open, whoever holds it."""
    client = client_as("head_person")
    session = client.session
    session["barn"] = True
    session.save()
    assert answer_of(read(client, reverse("look_at"))) == "This is not open here."
    assert client.get(reverse("look_at_sheet")).status_code == 302
    assert not Sight.objects.exists()


def test_the_morning_leads_to_the_list(trainer: Client, client_as: ClientAs) -> None:
    """The morning links the list for those who may open it."""
    assert 'href="/look-at/"' in read(trainer, "/")
    assert 'href="/look-at/"' not in read(client_as("carer"), "/")
