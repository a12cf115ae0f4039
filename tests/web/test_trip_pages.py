"""Trips on pages: one horse's, in the string, on the horse's page, on a lot's page; and gene tests."""

import re
from datetime import UTC, datetime
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

import trip_yard
import worlds
from sale_lists import ONE
from sale_lists import read as read_list
from upsides.books.models import Horse, Inside, Lot, Person, Sight
from upsides.books.queries import moments, trips
from upsides.books.services.releases import release
from upsides.books.services.sales import import_sale
from upsides.charts.trip_curve import FEW_TICKS_F
from upsides.web.trip import sentences
from worlds import ClientAs

IN_PLACE = {"hx-request": "true"}
ANSWER = re.compile(r"[A-Z][\w ]+, \d+ in 100; best at [\w½]+, (between [\w½]+ and [\w½]+|give or take little)\.")


@pytest.fixture
def trainer(with_trips: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def horse(with_trips: worlds.Yard) -> Horse:
    """The horse of the yard that has run most often."""
    return trip_yard.runner(with_trips)


@pytest.fixture
def of_old(with_trips: worlds.Yard) -> None:
    """The horses have stood in the books for years."""
    Horse.history.update(history_date=datetime(2020, 1, 1, tzinfo=UTC))


def read(client: Client, horse: Horse, query: str = "", **headers: str) -> str:
    answer = client.get(f"/horse/{horse.pk}/trip/{query}", headers=headers)
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def answer_of(page: str) -> str:
    return re.search(r'<p class="answer">(.*?)</p>', page)[1]


def curve_of(page: str) -> str:
    """Return the line of the first picture, the last and thickest of its paths without a fill."""
    return re.findall(r'<path d="([^"]+)" fill="none"[^>]*stroke-width="2.5"', page)[0]


# The page of one horse -----------------------------------------------------------------------------------------------


def test_the_page_opens_with_the_answer(trainer: Client, horse: Horse) -> None:
    """Kind with its chance, best trip and between which it lies one time in two, as the room has them."""
    page = read(trainer, horse)
    found, _ = trips.trips(trip_folder(), moments.now(), [horse])
    assert answer_of(page) == sentences.about_trip(found[horse.pk])
    assert ANSWER.fullmatch(answer_of(page))
    assert page.index('<p class="answer">') < page.index("<svg")
    for link in ("horse", "horse_pedigree", "shape", "gene_tests"):
        assert f'href="{reverse(link, args=[horse.pk])}"' in page
    assert trip_yard.NOTE in page
    assert "from memory, not looked up" in page


def trip_folder() -> object:
    return worlds.yard().library


def test_leaving_a_piece_out_changes_answer_and_curve(trainer: Client, horse: Horse) -> None:
    """Without its runs the curve is another, that from everything is dotted beside it, and the box is not ticked."""
    whole, less = read(trainer, horse), read(trainer, horse, "?without=runs")
    assert curve_of(less) != curve_of(whole)
    assert curve_of(whole) in less
    assert "stroke-dasharray" not in whole
    assert "stroke-dasharray" in less
    assert re.search(r'value="runs" checked', whole)
    assert re.search(r'value="runs" autocomplete', less)
    assert re.search(r'value="entries" checked', less)
    assert "Without its runs; it rests on" in less


def test_pieces_that_are_not_there_are_passed_over(trainer: Client, horse: Horse) -> None:
    """An address that leaves out what there is not, or what this horse has not got, is answered as without that."""
    whole = read(trainer, horse)
    assert answer_of(read(trainer, horse, "?without=gene&without=magic")) == answer_of(whole)
    assert "its gene" not in re.search(r'class="switches".*?</ul>', whole, re.S)[0]


def test_unticking_replaces_the_answer_in_place(trainer: Client, horse: Horse) -> None:
    """Where the page is there already it gets answer and figures alone, with the address that asks the same."""
    query = "?chosen=1&use=entries&use=family&what_if=&as_of="
    answer = trainer.get(f"/horse/{horse.pk}/trip/{query}", headers=IN_PLACE)
    part = unescape(answer.content.decode())
    assert "<html" not in part
    assert 'id="told"' in part
    assert re.search(r'id="figures" hx-swap-oob="true"', part)
    assert answer.headers["HX-Replace-Url"] == f"/horse/{horse.pk}/trip/?without=runs"
    assert "HX-Request" in answer.headers["Vary"]
    assert curve_of(part) == curve_of(read(trainer, horse, "?without=runs"))


def test_the_button_does_the_same_without_a_script(trainer: Client, horse: Horse, of_old: None) -> None:
    """Sent as a form the page goes on to the address that names what is left out and the trip that was asked for."""
    sent = f"/horse/{horse.pk}/trip/?chosen=1&use=runs&what_if=10f&as_of=2026-06-20T12%3A00"
    answer = trainer.get(sent)
    wanted = f"/horse/{horse.pk}/trip/?without=family&without=entries&what_if=10f&as_of=2026-06-20T12%3A00"
    assert (answer.status_code, answer.headers["Location"]) == (302, wanted)
    assert trainer.get(wanted).status_code == 200


@pytest.mark.parametrize(
    ("typed", "trip"), [("11f", "1m3f"), ("1m2½f", "1m2½f"), ("2200m", "1m3f"), ("1 1/2 miles", "1m4f")]
)
def test_a_trip_can_be_tried_in_thought(trainer: Client, horse: Horse, typed: str, trip: str) -> None:
    """A trip typed as the trade writes it is answered in a sentence, and its line of the table is marked."""
    page = read(trainer, horse, f"?what_if={typed}")
    assert re.search(rf"Over {trip} it is expected to run to \d+.lb, four times in five between \d+ and \d+\.", page)
    assert re.search(rf'<tr class="ours"><th scope="row">{trip}</th>', page)
    assert f'value="{typed}"' in page


@pytest.mark.parametrize("typed", ["far", "50m", "2f", "30f", "2.400 m", "<b>"])
def test_what_is_no_trip_is_said_beside_the_field(trainer: Client, horse: Horse, typed: str) -> None:
    """What cannot be read, or lies beyond what is thought of at all, is told with how to write it; the page stays."""
    answer = trainer.get(f"/horse/{horse.pk}/trip/", {"what_if": typed})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert re.search(r'class="errors" role="alert"><p>', page)
    assert "<b>" not in page
    assert ANSWER.fullmatch(unescape(answer_of(page)))


def test_who_may_not_see_it_is_told_so(with_trips: worlds.Yard, client_as: ClientAs, horse: Horse) -> None:
    """To a carer, and on a barn phone, the page says that it is not open and nothing of the trip; nothing is logged."""
    barn = client_as("trainer")
    session = barn.session
    session["barn"] = True
    session.save()
    for client in (client_as("carer"), client_as("rider"), barn):
        page = read(client, horse)
        assert "not open to you" in answer_of(page)
        assert "<svg" not in page
        assert "furlong" not in page
        assert not re.search(r"\b\d+½?f\b", page)
    assert not Sight.objects.filter(page__contains="trip").exists()


def test_a_release_opens_it_and_the_look_is_written_down(
    with_trips: worlds.Yard, client_as: ClientAs, horse: Horse
) -> None:
    """Figures released to a rider open the trip with them, and that he saw it stands in the log."""
    rider = Person.objects.get(login="rider")
    release(Person.objects.get(login="trainer"), Inside.FIGURES, horse=horse, person=rider)
    assert ANSWER.fullmatch(answer_of(read(client_as("rider"), horse)))
    seen = Sight.objects.get(person=rider)
    assert (seen.what, seen.horse, seen.page) == (Inside.FIGURES, horse, f"/horse/{horse.pk}/trip/")


def test_without_a_model_the_page_says_what_to_do(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Where nothing was learned of trips the page says so in words, with the command that learns it."""
    page = read(client_as("trainer"), Horse.objects.order_by("pk")[0])
    assert answer_of(page) == "Nothing has been learned of trips yet."
    assert "<code>upsides fit --library" in page
    assert "<svg" not in page


def test_a_page_of_an_earlier_moment_keeps_to_it(trainer: Client, horse: Horse, of_old: None) -> None:
    """The page of an earlier moment keeps to it in every link and in its form."""
    page = read(trainer, horse, "?as_of=2026-06-20T12:00")
    assert re.search(r'name="as_of" value="2026-06-20T12:00" form="switches"', page)
    assert f'href="/horse/{horse.pk}/pedigree/?as_of=2026-06-20T12%3A00"' in page


def test_parents_are_told_by_their_foals(with_trips: worlds.Yard, trainer: Client, horse: Horse) -> None:
    """Sire and dam are named, with how their other foals have done and how much is known of what they hand down."""
    page = read(trainer, horse)
    assert f"Its sire, {horse.sire}" in page
    assert f"Its dam, {horse.dam}" in page
    assert re.search(r"other foals? (is|are) known", page)
    assert "of that, a third is known" in page  # 0.4
    assert "Of what breeding can tell of a trip, a fifth is known" in page  # half of 0.4, from both


# The string, the horse, the lot --------------------------------------------------------------------------------------


def column(client: Client, query: str = "") -> list[str]:
    text = client.get(f"/string/?{query}").content.decode()
    return [
        unescape(re.sub("<[^>]+>", "", cell))
        for cell in re.findall(r'<td role="cell" class="trip"[^>]*>(.*?)</td>', text)
    ]


def test_the_string_shows_and_sorts_by_trip(trainer: Client) -> None:
    """Each horse has its best trip and its range in short, and pressing the heading puts the shortest first."""
    cells = column(trainer)
    assert len(cells) == Horse.objects.count()
    assert all(re.fullmatch(r"[\w½]+ [\w½]+(–[\w½]+)?", cell) for cell in cells)
    text = trainer.get("/string/").content.decode()
    assert re.search(r'name="sort" value="trip" id="by-trip" title="Trip, shortest first"', text)
    order = [in_halves(cell.split()[0]) for cell in column(trainer, "sort=trip")]
    assert order == sorted(order)
    assert [in_halves(cell.split()[0]) for cell in column(trainer, "sort=-trip")] == sorted(order, reverse=True)
    assert len(set(order)) > 3


def in_halves(words: str) -> float:
    """Return furlongs of a trip in words: 7½f, 1m2f."""
    miles, furlongs = re.fullmatch(r"(?:(\d)m)?(?:(\d*½?)f)?", words).groups()
    return 8 * int(miles or 0) + int((furlongs or "").rstrip("½") or 0) + (0.5 if "½" in (furlongs or "") else 0.0)


def test_the_string_is_as_ever_without_trips(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Where nothing was learned of trips the column is empty, and sorting by it sorts by name."""
    client = client_as("trainer")
    assert set(column(client)) == {""}
    assert set(column(client, "sort=trip")) == {""}
    assert column(client_as("carer")) == []
    assert client_as("carer").get("/string/?sort=trip&show=trip").status_code == 200


def test_the_horses_page_opens_with_its_trip(
    trainer: Client, with_trips: worlds.Yard, client_as: ClientAs, horse: Horse
) -> None:
    """Beside what it is worth stands the trip in a sentence, with a small curve, and leads to the trip's own page."""
    page = trainer.get(f"/horse/{horse.pk}/").content.decode()
    told = re.search(rf'<p class="answer"><a href="/horse/{horse.pk}/trip/">([^<]+)</a></p>(<svg.*?</svg>)', page, re.S)
    assert told[1] == answer_of(read(trainer, horse))
    assert len(re.findall("<text x", told[2])) == len(FEW_TICKS_F) + 1  # and the best
    assert page.index(told[1]) < page.index("Worth")
    assert f'href="/horse/{horse.pk}/shape/"' in page
    closed = client_as("carer").get(f"/horse/{horse.pk}/").content.decode()
    assert "in 100; best at" not in closed
    assert "/trip/" not in closed


def test_an_unraced_horse_opens_with_its_trip_and_that_is_logged(with_trips: worlds.Yard, client_as: ClientAs) -> None:
    """A horse without a figure still has a trip by its parents, and who sees it is written down."""
    sire = Horse.objects.order_by("pk")[0].sire
    foal = Horse.objects.create(
        horse_key="n:1", name="New", foaled=2024, sex="colt", sire=sire, joined=moments.now().day
    )
    page = client_as("trainer").get(f"/horse/{foal.pk}/").content.decode()
    assert ANSWER.search(page)
    assert Sight.objects.filter(horse=foal, what=Inside.FIGURES).count() == 1


def test_a_lot_says_its_trip_by_breeding(with_trips: worlds.Yard, client_as: ClientAs) -> None:
    """To those who see figures a lot's page says its trip and how much breeding can tell; to others nothing of it."""
    sire = Horse.objects.order_by("pk")[0].sire
    import_sale(read_list(ONE.replace("Quill (ire)", sire)))
    one = Lot.objects.get()
    for login, shown in (("trainer", True), ("head_person", True), ("vet", False)):
        page = unescape(client_as(login).get(f"/lot/{one.pk}/").content.decode())
        assert bool(ANSWER.search(page)) == shown
        assert ("Of what breeding can tell of a trip, a tenth is known" in page) == shown
        assert Sight.objects.filter(person__login=login, page=f"/lot/{one.pk}/").exists() == shown


def test_the_books_are_asked_little(trainer: Client, with_trips: worlds.Yard, horse: Horse) -> None:
    """The trip's page asks as often for ninety horses as for nine, tests or none, and never often."""
    counts = []
    for _ in range(2):
        read(trainer, horse)
        with CaptureQueriesContext(connection) as queries:
            read(trainer, horse)
        counts.append(len(queries))
        Horse.objects.exclude(
            pk__in=[horse.pk, *Horse.objects.order_by("-pk").values_list("pk", flat=True)[:8]]
        ).delete()
    assert counts[0] == counts[1] <= 14
