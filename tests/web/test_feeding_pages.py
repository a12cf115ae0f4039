"""The pages about feed: the board, a ration, one ration for several, the store."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

import fed_yard
import worlds
from fed_yard import FedYard
from upsides.books.models import Feed, FeedBatch, Horse, Move, Person, Ration
from upsides.books.services.feeding import Amount, write_ration
from worlds import ClientAs

DAY = timedelta(days=1)


@pytest.fixture
def fed(loaded: worlds.Yard) -> FedYard:
    return fed_yard.feed_the_yard()


def said(client: Client, address: str, status: int = 200) -> str:
    """Return what a page says, as one line of text."""
    response = client.get(address)
    assert response.status_code == status, address
    return words(response.content.decode())


def words(page: str) -> str:
    main = page.split('<main id="content">')[1].partition("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", main)).replace("\u00a0", " ").split())


def address_of(horse: Horse) -> str:
    return reverse("ration", args=[horse.pk])


def test_the_board_opens_with_its_answer(fed: FedYard, client_as: ClientAs) -> None:
    """One sentence says how many horses stand in the barn, how many rations changed, and how many have none."""
    client = client_as("carer")
    assert "3 horses in Zbrew; 1 ration changed since yesterday." in said(client, "/feed/")
    assert "1 horse in Zlow; no ration changed since yesterday; 1 horse has none written." in said(
        client, "/feed/?barn=Zlow"
    )
    tomorrow = said(client, "/feed/?day=tomorrow")
    assert "Feed board, tomorrow" in tomorrow
    assert "3 horses in Zbrew; no ration is otherwise than today." in tomorrow
    assert "horses without a box" in said(client, "/feed/?barn=-")


def test_the_board_says_changes_and_leavings_in_words(fed: FedYard, client_as: ClientAs) -> None:
    """Amounts, what they were, nothing given and nothing written, notes, and what was left all stand there in words."""
    fed_yard.enter(fed, fed.horses[0], "feed_left", {"left": "half", "feed": "evening"}, fed.today - DAY, 18)
    page = said(client_as("rider"), "/feed/")
    for told in (
        "1.5 kg zCubes was 2 kg",
        "no zHay was 3 kg",
        "4 kg zHay new",
        "Gets nothing",
        "znote soaked",
        "Left: about half left (evening)",
    ):
        assert told in page
    assert "No ration written" not in page
    assert "No ration written" in said(client_as("rider"), "/feed/?barn=Zlow")


def test_a_board_of_no_barn_or_no_day_is_refused(fed: FedYard, client_as: ClientAs) -> None:
    """A barn that there is not shows no other barn's board, and a day that is none is refused with one that is."""
    client = client_as("trainer")
    assert client.get("/feed/?barn=Nowhere").status_code == 404
    assert "2026-06-21" in said(client, "/feed/?day=someday", 400)


def test_a_barn_phone_shows_the_board_and_writes_nothing(fed: FedYard, client_as: ClientAs) -> None:
    """On a barn phone the board can be read by whoever looks after horses; what only some may do is not offered."""
    client = client_as("carer")
    session = client.session
    session["barn"] = True
    session.save()
    assert "3 horses in Zbrew" in said(client, "/feed/")
    ration = client.get(address_of(fed.horses[0])).content.decode()
    assert "Write a ration" not in ration
    assert client.post(reverse("ration_write", args=[fed.horses[0].pk])).status_code == 403
    assert client_as("owner").get("/feed/").status_code == 403


def test_the_board_asks_as_often_for_many_horses(fed: FedYard, client_as: ClientAs) -> None:
    """How often the page asks the database does not depend on how many horses and rations there are."""
    client = client_as("trainer")
    client.get("/feed/?barn=-")
    with CaptureQueriesContext(connection) as few:
        client.get("/feed/?barn=-")
    model = Horse.objects.order_by("pk")[0]
    for number in range(120):
        more = {"horse_key": f"more:{number}", "name": f"More {number}", "foaled": model.foaled, "sex": model.sex}
        horse = Horse.objects.create(joined=model.joined, **more)
        write_ration(horse, fed.today, [Amount("noon", fed.hay.pk, 5)], fed.by)
    with CaptureQueriesContext(connection) as many:
        page = client.get("/feed/?barn=-").content.decode()
    assert "More 119" in page
    assert len(many) == len(few)


def test_the_boards_are_printed(fed: FedYard, client_as: ClientAs) -> None:
    """The boards of all barns come as a PDF, of any day."""
    for day in ("", "?day=tomorrow"):
        response = client_as("carer").get(reverse("feed_board_pdf") + day)
        assert (response.status_code, response.headers["Content-Type"]) == (200, "application/pdf")
        assert response.content.startswith(b"%PDF-")


def test_a_ration_is_held_against_what_the_horse_needs(fed: FedYard, client_as: ClientAs) -> None:
    """With a mass and a class of work the page says what is given and needed, and its sources; without, why not."""
    client, first = client_as("vet"), fed.horses[0]
    assert "nobody wrote down what it weighs" in said(client, address_of(first))
    fed_yard.enter(fed, first, "tape", {"girth_cm": "185", "length_cm": "165"}, fed.today - DAY)
    page = said(client, address_of(first))
    assert "about 475 kg by tape" in page
    assert "its work is written down on 0 of the last 28 days only" in page
    page = said(client, f"{address_of(first)}?work=moderate&kg=480")
    assert "gets 7.1 kg a day, 80 MJ; a horse of 480 kg in moderate work is reckoned to need 94 MJ." in page
    assert "National Research Council 2007" in page
    assert "the vet or a nutritionist has the last word" in page
    assert "Take the draft into the form" not in page


def test_a_named_mass_or_work_that_cannot_be_is_refused(fed: FedYard, client_as: ClientAs) -> None:
    """A mass, a class of work or hours that cannot be right are refused in words."""
    client = client_as("trainer")
    for query in ("kg=5", "kg=many", "work=racing", "hours=30", "hours=-1"):
        assert "could not be done" in said(client, f"{address_of(fed.horses[0])}?{query}", 400)


def form(fed: FedYard, **more: str) -> dict[str, str]:
    tomorrow = (fed.today + DAY).isoformat()
    return {"first_day": tomorrow, "note": "", f"kg-{fed.cubes.pk}-0": "1.5 kg", f"kg-{fed.hay.pk}-2": "4"} | more


def test_a_horse_that_is_not_here_is_not_said_to_be_fed(fed: FedYard, client_as: ClientAs) -> None:
    """The page of the ration of a horse that is turned out says that it is not given, and still shows it."""
    first = fed.horses[0]
    Move.objects.create(horse=first, to=Move.To.TURNED_OUT, first_day=fed.today)
    page = said(client_as("trainer"), address_of(first))
    assert f"{first.name} is not in training here: its ration is not given." in page
    assert "zCubes" in page


def test_a_ration_is_written_from_a_day_on(fed: FedYard, client_as: ClientAs) -> None:
    """What is typed is written from its day on, by feed and feed time, and today's board stays."""
    fourth = fed.horses[3]
    client = client_as("head_person")
    assert client.post(reverse("ration_write", args=[fourth.pk]), form(fed)).status_code == 302
    row = Ration.objects.get(horse=fourth)
    assert row.first_day == fed.today + DAY
    assert {(one["feed"], one["time"]): one["kg"] for one in row.amounts} == {
        (fed.cubes.pk, "morning"): 1.5,
        (fed.hay.pk, "evening"): 4,
    }
    assert "No ration written" in said(client, "/feed/?barn=Zlow")
    assert "1.5 kg zCubes" in said(client, "/feed/?barn=Zlow&day=tomorrow")


def test_a_scoop_is_refused_and_nothing_typed_is_lost(fed: FedYard, client_as: ClientAs) -> None:
    """All that cannot be read is refused at once beside what was typed, and nothing is written."""
    fourth, client = fed.horses[3], client_as("trainer")
    sent = form(fed, **{f"kg-{fed.cubes.pk}-0": "½ scoop", f"kg-{fed.balancer.pk}-1": "some"}, note="soak")
    response = client.post(reverse("ration_write", args=[fourth.pk]), sent)
    page = response.content.decode()
    assert response.status_code == 400
    assert "weigh a scoop of this feed once" in page
    assert "ZBalancer at noon" in unescape(page)
    for value in ("½ scoop", "some", "soak", sent["first_day"]):
        assert f'value="{value}"' in page
    assert page.count('aria-invalid="true"') == 2
    assert not Ration.objects.filter(horse=fourth).exists()


def test_nothing_is_written_by_a_tick_and_not_by_an_empty_form(fed: FedYard, client_as: ClientAs) -> None:
    """That a horse gets nothing has to be ticked; an empty form, or a tick beside amounts, is refused."""
    fourth, client = fed.horses[3], client_as("trainer")
    place, day = reverse("ration_write", args=[fourth.pk]), {"first_day": fed.today.isoformat()}
    for sent in (day, form(fed, nothing="1"), form(fed, first_day="soon")):
        assert client.post(place, sent).status_code == 400
    assert not Ration.objects.filter(horse=fourth).exists()
    assert client.post(place, day | {"nothing": "1"}).status_code == 302
    assert Ration.objects.get(horse=fourth).amounts == []
    assert "gets nothing." in said(client, address_of(fourth))


def test_a_draft_stands_in_the_form_and_is_written_by_nobody_but_who_sends_it(
    fed: FedYard, client_as: ClientAs
) -> None:
    """The proposal is taken into the form as a draft that comes to what is needed; until it is sent nothing changes."""
    first, client = fed.horses[0], client_as("trainer")
    query = "?work=moderate&kg=480"
    assert "draft=1#write" in client.get(address_of(first) + query).content.decode()
    page = client.get(f"{address_of(first)}{query}&draft=1").content.decode()
    typed = {name: float(value) for name, value in re.findall(r'name="(kg-[\d-]+)" value="([\d.]+)"', page)}
    energy = {fed.hay.pk: 9, fed.cubes.pk: 13, fed.balancer.pk: 11}
    mj = sum(kg * energy[int(name.split("-")[1])] for name, kg in typed.items())
    assert mj == pytest.approx(480 * 0.0333 * 1.4 * 4.184, rel=0.02)
    assert Ration.objects.filter(horse=first).count() == 1


def test_others_condition_scores_are_told_in_outline(fed: FedYard, client_as: ClientAs) -> None:
    """A condition score that somebody else gave is not read out to who has not scored the horse."""
    fed_yard.enter(fed, fed.horses[0], "condition", {"score": "5.5"}, fed.today - DAY)
    assert "Condition score, entered." in said(client_as("assistant"), address_of(fed.horses[0]))
    assert "Condition score: 5.5." in said(client_as("trainer"), address_of(fed.horses[0]))


def test_the_way_of_the_mass_is_said_in_words(fed: FedYard, client_as: ClientAs) -> None:
    """Two weighings a week or more apart are told as a change in per cent a week."""
    for back, kg in ((15, "500"), (1, "490")):
        fed_yard.enter(fed, fed.horses[0], "mass", {"kg": kg}, fed.today - back * DAY)
    assert "to 490 kg on" in said(client_as("trainer"), address_of(fed.horses[0]))
    assert "1 per cent less a week." in said(client_as("trainer"), address_of(fed.horses[0]))


def test_a_ration_is_taken_back(fed: FedYard, client_as: ClientAs) -> None:
    """Taking a ration back lets the one before it go on."""
    row = Ration.objects.get(horse=fed.horses[1], first_day=fed.today)
    assert client_as("secretary").post(reverse("ration_back", args=[row.pk])).status_code == 302
    assert "no ration changed since yesterday" in said(client_as("secretary"), "/feed/")


def test_one_ration_is_given_to_several(fed: FedYard, client_as: ClientAs) -> None:
    """Those that were ticked get it from its day on, and tomorrow's board shows the change; else none of them does."""
    client, (first, second, _third, fourth) = client_as("assistant"), fed.horses
    sent = {
        "from": first.pk,
        "first_day": (fed.today + DAY).isoformat(),
        "how": "mass",
        "horse": [second.pk, fourth.pk],
    }
    response = client.post("/feed/several/", sent)
    assert response.status_code == 400
    assert "weigh or tape it first" in response.content.decode()
    assert not Ration.objects.filter(first_day=fed.today + DAY).exists()
    response = client.post("/feed/several/", sent | {"how": "same"})
    assert response.headers["Location"].endswith(f"?day={(fed.today + DAY).isoformat()}")
    tomorrow = Ration.objects.filter(first_day=fed.today + DAY)
    assert {row.horse_id for row in tomorrow} == {second.pk, fourth.pk}
    assert "1 ration is otherwise than today" in said(client, "/feed/?day=tomorrow")
    assert client.post("/feed/several/", sent | {"horse": []}).status_code == 400


def test_the_store_says_what_to_order_first(fed: FedYard, client_as: ClientAs) -> None:
    """The store opens with what is to be ordered first and by when, by the days that a delivery takes."""
    client = client_as("secretary")
    order = fed.today + 62 * DAY
    assert f"the first to order is zCubes, by {order - 7 * DAY:%-d %B %Y}." in said(client, "/feed/store/")
    assert f"by {order - 20 * DAY:%-d %B %Y}." in said(client, "/feed/store/?lead=20")
    assert "342 kg" in said(client, "/feed/store/")
    assert client.get("/feed/store/?lead=soon").status_code == 400


def test_a_feed_is_entered_changed_and_put_out_of_use(fed: FedYard, client_as: ClientAs) -> None:
    """A label is written in per cent, what cannot be is refused beside what was typed, and a feed goes out of use."""
    client = client_as("secretary")
    typed = {
        "name": "zOats",
        "kind": "concentrate",
        "energy": "12.1",
        "dry_matter": "87",
        "starch": "41",
        "protein": "",
    }
    assert "in per cent" in client.post("/feed/store/new/", typed | {"dry_matter": "0.9"}).content.decode()
    assert client.post("/feed/store/new/", typed).status_code == 302
    oats = Feed.objects.get(name="zOats")
    assert (oats.dry_matter, oats.starch, oats.protein) == (0.87, 0.41, None)
    place = reverse("feed", args=[oats.pk])
    assert client.post(place, typed | {"energy": "lots", "used": "on"}).status_code == 400
    assert client.post(place, typed | {"energy": "12.5"}).status_code == 302
    assert "It is out of use." in said(client, place)
    assert "zOats" not in client.get(address_of(fed.horses[0])).content.decode()


def test_a_delivery_is_entered_opened_and_traced(fed: FedYard, client_as: ClientAs) -> None:
    """A delivery is written down, marked as opened, and who ate of it is told; what cannot be is refused in words."""
    client = client_as("head_person")
    place = reverse("feed_deliver", args=[fed.hay.pk])
    came = fed.today - 3 * DAY
    assert client.post(place, {"delivered_on": came.isoformat(), "kg": "a lorry", "number": ""}).status_code == 400
    assert client.post(place, {"delivered_on": came.isoformat(), "kg": "1.2 t", "number": "zH4"}).status_code == 302
    batch = FeedBatch.objects.get(number="zH4")
    assert batch.kg == 1200
    marks, page = reverse("feed_batch_mark", args=[batch.pk]), reverse("feed_batch", args=[batch.pk])
    assert client.post(marks, {"opened_on": (came - DAY).isoformat(), "finished_on": ""}).status_code == 400
    assert "no batch was written down as open" in said(client, page)
    assert client.post(marks, {"opened_on": came.isoformat(), "finished_on": ""}).status_code == 302
    told = said(client, page)
    assert "2 horses ate of it: no other batch of the feed was open." in told
    assert client.get(f"{page}?first={fed.today}&last={came}").status_code == 400
    assert "no horse ate of it" in said(client, f"{page}?first={came - 9 * DAY}&last={came - 8 * DAY}")


def test_feed_times_are_named(fed: FedYard, client_as: ClientAs) -> None:
    """The yard's feed times are named in a line, and one that rations need cannot go."""
    client = client_as("trainer")
    assert client.post("/feed/times/", {"times": "morning, noon, evening, night"}).status_code == 302
    assert "Night" in said(client, "/feed/")
    assert client.post("/feed/times/", {"times": "morning"}).status_code == 400


def test_a_link_leads_from_the_head_to_the_board(fed: FedYard, client_as: ClientAs) -> None:
    """Whoever may open the board finds it in the head of every page, and owners do not."""
    link = f'href="{reverse("feed_board")}"'
    assert link in client_as("carer").get("/diary/").content.decode()
    assert link not in client_as("owner").get(reverse("string")).content.decode()


def test_who_looks_after_a_barn_sees_that_barn_first(fed: FedYard, client_as: ClientAs) -> None:
    """Without a barn in the address the board is that of the visitor's own barn."""
    Person.objects.filter(login="carer").update(barn="Zlow")
    assert "1 horse in Zlow" in said(client_as("carer"), "/feed/")
