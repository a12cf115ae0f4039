"""Lots planned beside the list, moved by hand, and one rider's own list, as pages."""

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from mornings import DAY, Hands, enter, only, who
from upsides.books.jobs.running import run
from upsides.books.models import DayOff, Entry, Horse, Job, Person, Post
from upsides.books.queries import moments
from upsides.books.queries.lots import orders
from upsides.books.services.lists import order

STRICT = r"<script(?![^>]*\ssrc=)|<style|\sstyle=|\son[a-z]+=|javascript:"


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> Hands:
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses, ordered to canter in the first lot, two of them under the rider; a second rider."""
    three = only(3)
    other = Person.objects.create(name="Q. Tallow", skill=4)
    Post.objects.create(person=other, role="rider")
    for place, (horse, rider) in enumerate(zip(three, (who("rider"), who("rider"), other), strict=True)):
        values = {"exercise": "steady_canter", "lot": "1", "place": str(place + 1), "rider": str(rider.pk)}
        order(horse.pk, DAY, values, who("trainer"))
    return three


def told(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.content.decode()[:400]
    return words(answer)


def words(answer: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def work_off() -> None:
    for job in Job.objects.filter(state="waiting"):
        run(job.pk)


def test_a_plan_is_asked_for_shown_and_taken(string: list[Horse], seat: Any, client_as: worlds.ClientAs) -> None:
    """A button asks a worker; then the plan stands beside the list with cost and proof; one tap takes it, once."""
    trainer = client_as("trainer")
    assert "Plan the lots" in told(trainer, "/lots/")
    answer = trainer.post("/lots/plan/ask/", {"day": str(DAY)})
    assert answer.headers["Location"] == f"/lots/plan/?day={DAY}"
    assert "The lots are being planned." in told(trainer, f"/lots/plan/?day={DAY}")
    work_off()
    page = trainer.get(f"/lots/plan/?day={DAY}")
    text = words(page)
    assert "no plan costs less" in text
    assert "The list breaks 1 rule." in text
    assert f"{who('rider').name}: two horses at one time" in text
    number = re.search(r'name="plan" value="(\d+)"', page.content.decode())
    assert number is not None
    count = Entry.objects.count()
    for _twice in range(2):
        answer = trainer.post("/lots/plan/take/", {"day": str(DAY), "plan": number[1]})
        assert answer.headers["Location"] == f"/lots/?day={DAY}"
    assert Entry.objects.count() > count
    assert "The list is as the plan of 06:00 has it." in told(trainer, f"/lots/plan/?day={DAY}")
    assert "the rider has two horses" not in told(trainer, "/lots/")
    assert trainer.post("/lots/plan/take/", {"day": str(DAY), "plan": "999999"}).status_code == 404


def test_somebody_marked_away_is_planned_around(string: list[Horse], seat: Any, client_as: worlds.ClientAs) -> None:
    """Who is off and on the list has a button; the plan without that rider changes that rider's horses only."""
    trainer, rider = client_as("assistant"), who("rider")
    assert f"Plan without {rider.name}" not in told(trainer, "/lots/")
    for place, horse in enumerate(string):
        other = Person.objects.get(name="Q. Tallow").pk if place == 2 else rider.pk
        values = {"exercise": "steady_canter", "lot": str(place + 1), "place": "1", "rider": str(other)}
        order(horse.pk, DAY, values, who("trainer"))
    DayOff.objects.create(person=rider, first_day=DAY, last_day=DAY, why="sick")
    assert f"Plan without {rider.name}" in told(trainer, "/lots/")
    trainer.post("/lots/plan/ask/", {"day": str(DAY), "without": str(rider.pk)})
    work_off()
    assert Job.objects.get().state == "done", Job.objects.get().failure
    page = trainer.get(f"/lots/plan/?day={DAY}&without={rider.pk}")
    assert f"The lots without {rider.name}" in words(page)
    assert "changes 2 horses of the list" in words(page)
    assert page.content.decode().count('<tr class="changed">') == 2


def test_the_whole_way_from_away_to_a_new_plan_renews_early(
    string: list[Horse], hands: Hands, seat: Any, client_as: worlds.ClientAs
) -> None:
    """From *Plan without* on the page asks every 200 ms, after 15 s every 2 s, and with the plan no more.

    While it asks so often it is answered with nothing, at once, so that the worker has the machine.
    """
    trainer, rider = client_as("trainer"), who("rider")
    DayOff.objects.create(person=rider, first_day=DAY, last_day=DAY, why="sick")
    page = trainer.post("/lots/plan/ask/", {"day": str(DAY), "without": str(rider.pk)}, follow=True)
    assert 'hx-trigger="every 200ms"' in page.content.decode()
    address, asks = f"/lots/plan/?day={DAY}&without={rider.pk}", {"HX-Request": "true"}
    again = trainer.get(address, headers=asks)
    assert (again.status_code, again.content) == (204, b"")
    hands.to(hands.at + timedelta(seconds=16))
    assert trainer.get(address, headers=asks).status_code == 200
    assert 'hx-trigger="every 2s"' in trainer.get(address).content.decode()
    work_off()
    done = trainer.get(address).content.decode()
    assert "hx-trigger" not in done
    assert '<section class="lot"' in done
    changes = done.partition('<section class="changes">')[2].partition("</section>")[0]
    rode = [horse for horse, entry in orders(moments.now(), DAY).items() if entry.values.get("rider") == rider.pk]
    assert rode
    assert changes.count("<li>") >= len(rode)
    for horse in string:
        if horse.pk in rode:
            line = changes.partition(f"<strong>{horse.name}</strong>")[2].partition("</li>")[0]
            assert f"; on the list lot 1, {rider.name}" in line
    assert done.index("What changes") < done.index("What it costs") < done.index('<section class="lot"')


def test_the_lots_of_a_day_are_printed(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """The page of lots leads to the wall print of its day, to whoever sees every horse; its title says lots."""
    trainer = client_as("trainer")
    assert f'href="/evening.pdf?day={DAY}"' in trainer.get(f"/lots/?day={DAY}").content.decode()
    answer = trainer.get("/evening.pdf", {"day": str(DAY)})
    assert answer["Content-Type"] == "application/pdf"
    assert f"lots-{DAY}" in answer["Content-Disposition"]


def test_a_pair_is_one_on_the_board(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Each of two that work together names the other on the board, so that one drawn takes the other along."""
    a, b, c = string
    for horse, other in ((a, b), (b, a)):
        values = {"exercise": "steady_canter", "lot": "1", "upsides": str(other.pk)}
        order(horse.pk, DAY, values, who("trainer"))
    page = client_as("trainer").get(f"/lots/board/?day={DAY}").content.decode()
    assert f'data-horse="{a.pk}" data-with="{b.pk}"' in page
    assert f'data-horse="{c.pk}" data-with=""' in page


def test_a_plan_of_a_moment_is_what_was_known(string: list[Horse], hands: Hands, seat: Any,
                                              client_as: worlds.ClientAs) -> None:  # fmt: skip
    """As of a moment before the plan there is none; nothing can be asked or taken there."""
    trainer, then = client_as("trainer"), hands.at
    hands.to(hands.at + timedelta(hours=1))
    trainer.post("/lots/plan/ask/", {"day": str(DAY)})
    work_off()
    page = words(trainer.get("/lots/plan/", {"as_of": then.isoformat()}))
    assert "There is no plan of this morning yet." in page
    assert "Plan the lots" not in page
    assert "Take it into the list" not in words(trainer.get("/lots/plan/", {"as_of": hands.at.isoformat()}))


def _pair(one: Horse, other: Horse) -> None:
    for horse, beside, rider in ((one, other, "rider"), (other, one, None)):
        person = who(rider) if rider else Person.objects.get(name="Q. Tallow")
        values = {
            "exercise": "half_speed",
            "lot": "1",
            "place": "1",
            "rider": str(person.pk),
            "upsides": str(beside.pk),
        }
        order(horse.pk, DAY, values, who("trainer"))


def test_a_lot_chosen_without_a_script_takes_the_pair(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Of two that work together one whose lot is chosen in its list takes the other along, also without the script."""
    one, other, third = string
    _pair(one, other)
    trainer = client_as("trainer")
    page = trainer.get(f"/lots/board/?day={DAY}").content.decode()
    was = dict(re.findall(r'name="(was-\d+)" value="(\d*)"', page))
    assert set(was) == {f"was-{one.pk}", f"was-{other.pk}"}
    chosen = was | {f"lot-{one.pk}": "2", f"lot-{other.pk}": "1", f"lot-{third.pk}": "1", "look": "1"}
    after = trainer.post(f"/lots/board/?day={DAY}", chosen).content.decode()
    for horse, lot in ((one, 2), (other, 2), (third, 1)):
        own = after.partition(f'name="lot-{horse.pk}"')[2].partition("</select>")[0]
        assert f'<option value="{lot}" selected>' in own


def test_one_of_a_pair_goes_alone_where_that_is_said(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Said to go alone one is moved by itself; the rule that breaks is named at once, and a button brings the other."""
    one, other, third = string
    _pair(one, other)
    trainer, address = client_as("trainer"), f"/lots/board/?day={DAY}"
    page = trainer.get(address).content.decode()
    assert "Move a horse without those that it works with" in page
    was = dict(re.findall(r'name="(was-\d+)" value="(\d*)"', page))
    riders = {f"rider-{horse.pk}": str(who("rider").pk) for horse in string}
    chosen = was | riders | {f"lot-{one.pk}": "2", f"lot-{other.pk}": "1", f"lot-{third.pk}": "1"}
    alone = trainer.post(address, chosen | {"alone": "1", "look": "1"})
    assert f"{min(one.name, other.name)}" in words(alone)
    assert "are to work together, and go in two lots" in words(alone)
    assert f"Move {other.name} to lot 2 too" in words(alone)
    assert f'name="bring" value="{other.pk}:2"' in alone.content.decode()
    brought = trainer.post(address, chosen | {"alone": "1", "bring": f"{other.pk}:2"})
    assert "go in two lots" not in words(brought)
    assert "work together: both go in lot 2." in words(brought)
    own = brought.content.decode().partition(f'name="lot-{other.pk}"')[2].partition("</select>")[0]
    assert '<option value="2" selected>' in own
    assert "work together: both go in lot 2." in words(trainer.post(address, chosen | {"look": "1"}))


def test_a_partner_elsewhere_stands_in_the_way(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Where a horse works with one that goes in another lot, or is not ridden, list and lots say so of it."""
    one, other, _third = string
    _pair(one, other)
    trainer, text = client_as("trainer"), "a horse that it works with goes elsewhere, or is not ridden"
    assert text not in told(trainer, f"/lots/?day={DAY}")
    order(other.pk, DAY, {"exercise": "walker"}, who("trainer"))
    assert told(trainer, f"/lots/?day={DAY}").count(text) == 1
    order(other.pk, DAY, {"exercise": "half_speed", "lot": "4"}, who("trainer"))
    assert text in told(trainer, f"/evening/?day={DAY}")


def test_a_lot_ordered_for_one_takes_its_partner_along(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """In the form of one horse's order another lot moves those that it works upsides with, which the page then says."""
    one, other, third = string
    _pair(one, other)
    typed = {"exercise": "half_speed", "lot": "2", "place": "5", "upsides": str(other.pk)}
    values = {f"ordered-{name}": value for name, value in typed.items()}
    trainer = client_as("trainer")
    answer = trainer.post(f"/evening/{one.pk}/?day={DAY}", values)
    assert answer.status_code == 302
    now = {number: entry.values for number, entry in orders(moments.now(), DAY).items()}
    assert [now[horse.pk]["lot"] for horse in string] == [2, 2, 1]
    assert now[other.pk]["rider"] == Person.objects.get(name="Q. Tallow").pk
    assert now[other.pk]["upsides"] == [one.pk]
    assert f"{other.name} goes with it." in told(trainer, answer.headers["Location"].partition("#")[0])
    alone = {name: value for name, value in values.items() if name != "ordered-upsides"} | {"ordered-lot": "3"}
    trainer.post(f"/evening/{one.pk}/?day={DAY}", alone)
    now = {number: entry.values for number, entry in orders(moments.now(), DAY).items()}
    assert [now[horse.pk]["lot"] for horse in string] == [3, 2, 1], "it was ordered to go alone"
    assert third.pk in now


def test_the_board_says_at_once_what_a_move_costs(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Each ride has a list of lots and riders; a move is priced and its broken rules named, and nothing is written."""
    trainer, rider, count = client_as("trainer"), who("rider"), Entry.objects.count()
    page = trainer.get(f"/lots/board/?day={DAY}")
    assert f"{rider.name}: two horses at one time" in words(page)
    assert "It breaks 1 rule and costs" in words(page)
    assert re.findall(STRICT, page.content.decode()) == []
    assert page.content.decode().count("<select") == 2 * len(string)
    moved = {f"lot-{one.pk}": str(place + 1) for place, one in enumerate(string)}
    moved |= {f"rider-{one.pk}": str(rider.pk) for one in string}
    part = trainer.post(f"/lots/board/?day={DAY}", moved, headers={"HX-Request": "true"})
    assert "It keeps every rule and costs" in words(part)
    assert "<html" not in part.content.decode()
    whole = trainer.post(f"/lots/board/?day={DAY}", moved | {"look": "1"})
    assert "It keeps every rule and costs" in words(whole)
    assert f'<option value="{rider.pk}" selected>' in whole.content.decode()
    assert Entry.objects.count() == count
    answer = trainer.post(f"/lots/board/?day={DAY}", moved | {"take": "1"})
    assert answer.headers["Location"] == f"/lots/?day={DAY}"
    assert [orders(moments.now(), DAY)[one.pk].values["lot"] for one in string] == [1, 2, 3]


def test_one_without_a_rider_does_not_hide_the_rest(
    string: list[Horse], hands: Hands, client_as: worlds.ClientAs
) -> None:
    """Where one horse has no rider the board names it, and still names what others break and what they cost."""
    other = Person.objects.get(name="Q. Tallow")
    enter("exercise", string[1], hands.back(days=3), exercise="steady_canter", rider=other.pk)
    chosen = {f"lot-{horse.pk}": "1" for horse in string}
    chosen |= {f"rider-{horse.pk}": str(who("rider").pk) for horse in string[1:]}
    text = words(client_as("trainer").post(f"/lots/board/?day={DAY}", chosen))
    assert f"{string[0].name}: it has no rider" in text
    assert f"{who('rider').name}: two horses at one time" in text
    assert "It breaks 2 rules and costs" in text


def test_the_board_takes_nothing_that_breaks_a_rule(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Taken with a rule broken, or a horse without a rider, it is refused by name, and what was chosen stays."""
    trainer, count = client_as("trainer"), Entry.objects.count()
    chosen = {f"lot-{string[0].pk}": "2", f"rider-{string[0].pk}": "", f"lot-{string[1].pk}": "x", "take": "1"}
    answer = trainer.post(f"/lots/board/?day={DAY}", chosen)
    assert answer.status_code == 400
    assert f"{string[0].name}: it has no rider" in words(answer)
    assert Entry.objects.count() == count


def test_a_rider_who_is_away_all_week_is_named(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """On board and list it is said of each horse what it lacks: its rider does not ride then, or it has no lot."""
    DayOff.objects.create(person=who("rider"), first_day=DAY, last_day=DAY + timedelta(days=6), why="holiday")
    order(string[2].pk, DAY, {"exercise": "steady_canter", "rider": str(who("rider").pk)}, who("trainer"))
    text = told(client_as("trainer"), f"/lots/board/?day={DAY}")
    assert f"{string[0].name}: {who('rider').name} does not ride that morning" in text
    order(string[0].pk, DAY, {"exercise": "steady_canter", "lot": "1"}, who("trainer"))
    order(string[1].pk, DAY, {"exercise": "walker"}, who("trainer"))
    chosen = {f"lot-{string[0].pk}": "1", f"rider-{string[0].pk}": str(Person.objects.get(name="Q. Tallow").pk)}
    text = words(client_as("trainer").post(f"/lots/board/?day={DAY}", chosen))
    assert f"{string[2].name} may not stay on the walker, and has no rider" in text


def test_a_morning_without_horses_or_riders_says_so(
    string: list[Horse], hands: Hands, client_as: worlds.ClientAs
) -> None:
    """With nothing ordered board and plan say that there is nothing to plan; without riders the board says that."""
    trainer, empty = client_as("trainer"), DAY + timedelta(days=30)
    for page in (f"/lots/board/?day={empty}", f"/lots/plan/?day={empty}"):
        assert "There is nothing to plan: no horse is ordered to be ridden that morning" in told(trainer, page)
    assert "Take it into the list" not in told(trainer, f"/lots/board/?day={empty}")
    Post.objects.filter(role="rider").delete()
    text = told(trainer, f"/lots/board/?day={DAY}")
    assert "Nobody rides that morning" in text
    assert "Take it into the list" not in text


def test_a_rider_sees_the_own_list_and_writes_it_done(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Ordered and done stand side by side; one tap writes that a horse did what was ordered, a second one nothing."""
    rider = client_as("rider")
    text = told(rider, "/lots/own/")
    assert f"{who('rider').name} rides 2 horses; 0 written as done." in text
    assert string[2].name not in text
    assert "Plan without" not in text
    assert f"Plan without {who('rider').name}" in told(client_as("head_person"), f"/lots/own/?rider={who('rider').pk}")
    assert string[2].name in told(rider, f"/lots/own/?rider={Person.objects.get(name='Q. Tallow').pk}")
    for _twice in range(2):
        answer = rider.post("/lots/own/done/", {"horse": str(string[0].pk), "rider": ""})
        assert answer.headers["Location"] == f"/lots/own/?rider={who('rider').pk}"
    assert Entry.objects.filter(kind="exercise", horse=string[0]).count() == 1
    assert "1 written as done." in told(rider, "/lots/own/")


def test_only_those_who_order_work_plan_it(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """A rider opens neither plan nor board and asks for nothing; an owner opens none of these pages."""
    rider, owner = client_as("rider"), client_as("owner")
    for address in ("/lots/plan/", "/lots/board/"):
        assert rider.get(address).status_code == 403
    assert rider.post("/lots/plan/ask/", {"day": str(DAY)}).status_code == 403
    assert rider.post("/lots/plan/take/", {"day": str(DAY), "plan": "1"}).status_code == 403
    assert owner.get("/lots/own/").status_code == 403
    assert Job.objects.count() == 0
    assert "Plan the lots" not in told(rider, "/lots/")


def test_pages_read_as_often_for_many_horses_as_for_few(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """The number of queries does not hang on the number of horses."""
    trainer = client_as("trainer")
    counts: list[list[int]] = []
    for _turn in range(2):
        counts.append([])
        for address in ("/lots/plan/", "/lots/board/", "/lots/own/"):
            trainer.get(address)
            with CaptureQueriesContext(connection) as seen:
                trainer.get(address)
            counts[-1].append(len(seen))
        for horse in Horse.objects.exclude(pk__in=[one.pk for one in string])[:20]:
            Horse.objects.filter(pk=horse.pk).update(left=None)
            order(horse.pk, DAY, {"exercise": "walk", "lot": "2"}, who("trainer"))
    assert counts[0] == counts[1]
    assert max(counts[0]) <= 40
