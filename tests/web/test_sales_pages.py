"""The pages of sales and lots: what they say, to whom, and what can be done on them."""

import re
from html import unescape
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from sale_lists import ONE, THREE, TWO, read
from upsides.books.models import Horse, Lot, LotNote, Mark, Person, Sale
from upsides.books.services.lot_notes import Noted, note, shortlist
from upsides.books.services.sales import import_sale
from upsides.web.sales.asking import A_PAGE
from worlds import ClientAs

pytestmark = pytest.mark.django_db
MANY = "".join(THREE.replace(",2,", f",{number},", 1) for number in range(1, 121))
READ, WRITE = ("trainer", "assistant", "secretary", "vet", "head_person"), ("trainer", "assistant", "secretary", "vet")
CHOOSE = ("trainer", "assistant", "secretary")


@pytest.fixture
def sale(loaded: worlds.Yard) -> Sale:
    return import_sale(read(ONE + TWO + THREE))[0].sale


@pytest.fixture
def lot(sale: Sale) -> Lot:
    return Lot.objects.get(sale=sale, number="1")


def text(client: Client, address: str, **more: object) -> str:
    response = client.get(address, **more)
    assert response.status_code == 200, (address, response.status_code)
    return unescape(response.content.decode())


def numbers(page: str) -> list[str]:
    return re.findall(r"</span>([0-9A-Z]+)</a></th>", page)


def said(login: str, lot: Lot, words: str, kind: str = "look") -> LotNote:
    return note(lot, Noted(uuid4(), kind, words), Person.objects.get(login=login))


def form(words: str, **more: str) -> dict[str, str]:
    return {"client_id": str(uuid4()), "kind": "look", "text": words} | more


def test_without_a_sale_the_page_says_what_to_do(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """The page of a yard without sales names the command that brings in the first."""
    page = text(client_as("trainer"), "/sales/")
    assert "No list of a sale has been brought in yet." in page
    assert f"upsides sale add FILE --shape NAME --library {settings.UPSIDES_LIBRARY}" in page


def test_sales_are_listed_with_what_is_chosen(sale: Sale, lot: Lot, client_as: ClientAs) -> None:
    """Each sale stands with its lots and how many are on the shortlist; the sentence adds them up."""
    import_sale(read(ONE.replace("2025", "2026")))
    shortlist(lot, Person.objects.get(login="trainer"), on=True)
    page = text(client_as("assistant"), "/sales/")
    assert "2 sales with 4 lots. 1 of them is on the shortlist." in page
    assert page.index("2026</span>") < page.index("2025</span>")
    assert f'href="/sale/{sale.pk}/"' in page


def test_the_list_opens_with_its_count(sale: Sale, lot: Lot, client_as: ClientAs) -> None:
    """A sale's page says how many lots there are, what is chosen and vetted, and shows prices as printed."""
    shortlist(lot, Person.objects.get(login="trainer"), on=True, reason="Walks well")
    said("vet", lot, "Scoped.", "vetting")
    page = text(client_as("trainer"), f"/sale/{sale.pk}/")
    assert "3 lots, 1 on the shortlist. A vetting is noted of 1 of these." in page
    assert numbers(page) == ["1", "2", "12A"]
    assert "12,000\xa0GBP" in page
    assert "Walks well" in page
    assert "bay colt, foaled 2024" in page


def test_a_removed_lot_is_told(sale: Sale, client_as: ClientAs) -> None:
    """A lot that a later list no longer has stays in its place, and is said to be gone, on its own page too."""
    import_sale(read(ONE + TWO))
    page = text(client_as("trainer"), f"/sale/{sale.pk}/")
    assert "2 lots. 1 lot of an earlier list is no longer in it." in page
    assert numbers(page) == ["1", "2", "12A"]
    gone = text(client_as("trainer"), f"/lot/{Lot.objects.get(number='2').pk}/")
    assert "It is no longer in the list of the sale." in gone
    assert "Put it on the shortlist" not in gone


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("q=alder", ["12A"]),
        ("sire=Sedge", ["2"]),
        ("sex=filly&q=marram", ["2", "12A"]),
        ("shortlisted=yes", ["1"]),
        ("q=nobody", []),
        ("page=99", ["1", "2", "12A"]),
        ("page=x&sire=%00&unknown=1", []),
    ],
)
def test_lots_are_narrowed(sale: Sale, lot: Lot, client_as: ClientAs, query: str, found: list[str]) -> None:
    """The list shows what is asked for; what cannot be read is left out."""
    shortlist(lot, Person.objects.get(login="trainer"), on=True)
    assert numbers(text(client_as("trainer"), f"/sale/{sale.pk}/?{query}")) == found


def test_the_list_alone_is_replaced(sale: Sale, client_as: ClientAs) -> None:
    """Asked for in place the list comes alone, with the address under which it is found again."""
    headers = {"HX-Request": "true"}
    response = client_as("trainer").get(f"/sale/{sale.pk}/?q=alder&sex=", headers=headers)
    page = response.content.decode()
    assert "<html" not in page
    assert page.lstrip().startswith('<div id="list">')
    assert 'id="found" hx-swap-oob="innerHTML"' in page
    assert response.headers["HX-Replace-Url"] == f"/sale/{sale.pk}/?q=alder"
    assert "HX-Request" in response.headers["Vary"]


def test_fifty_lots_are_a_page(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A long list is shown fifty at a time, in order, with ways on and back that keep what was asked."""
    sale, browser = import_sale(read(MANY))[0].sale, client_as("trainer")
    pages = [text(browser, f"/sale/{sale.pk}/?sex=filly&page={page}") for page in (1, 2, 3)]
    assert [number for page in pages for number in numbers(page)] == [str(number) for number in range(1, 121)]
    assert len(numbers(pages[0])) == A_PAGE
    assert "Lots 1 to 50 of 120" in pages[0]
    assert f'rel="next" href="/sale/{sale.pk}/?sex=filly&page=2"' in pages[0]
    assert 'rel="prev"' not in pages[0]
    assert 'rel="next"' not in pages[2]


def test_a_page_of_the_list_asks_little(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """However many lots a sale has, its page asks the database as often."""
    few, many = import_sale(read(ONE))[0].sale, import_sale(read(MANY.replace("Moor End", "Fell Top")))[0].sale
    browser, asked = client_as("trainer"), []
    for sale in (few, many):
        text(browser, f"/sale/{sale.pk}/")
        with CaptureQueriesContext(connection) as queries:
            text(browser, f"/sale/{sale.pk}/")
        asked.append(len(queries))
    assert asked[0] == asked[1] <= 12


def test_a_lot_tells_how_it_is_bred(sale: Sale, client_as: ClientAs) -> None:
    """A lot's page opens with its breeding, and names what the list does not."""
    browser = client_as("trainer")
    pages = {lot.number: text(browser, f"/lot/{lot.pk}/") for lot in Lot.objects.all()}
    assert "By Quill (IRE) out of Sedge Warbler, by Reed (GB)." in pages["1"]
    assert "<h1>Lot 12A, Alder (IRE)</h1>" in pages["12A"]
    assert "By Quill (IRE) out of Marram." in pages["12A"]
    assert "chestnut filly, foaled 2024" in pages["12A"]
    nothing = import_sale(read("Moor End,07/10/2026,9,,,,,,,,,\n"))[0].sale
    page = text(browser, f"/lot/{nothing.lots.get().pk}/")
    assert "The list names neither sire nor dam." in page


def test_a_lot_shows_its_relatives(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """Horses of the yard and other lots out of the same dam are links; those by the sire of the sale are counted."""
    horse = Horse.objects.exclude(dam="").order_by("pk")[0]
    rows = [ONE.replace("Sedge  Warbler", horse.dam), THREE.replace("Marram", horse.dam), TWO]
    sale = import_sale(read("".join(rows)))[0].sale
    one, two = Lot.objects.get(number="1"), Lot.objects.get(number="2")
    page = text(client_as("trainer"), f"/lot/{one.pk}/")
    assert f'href="/horse/{horse.pk}/"' in page
    assert f'href="/lot/{two.pk}/"' in page
    assert f'href="/sale/{sale.pk}/?sire=Quill+%28IRE%29"' in page
    assert "Lots of this sale by the same sire: 2" in page


def test_the_place_for_the_trip_is_empty(lot: Lot, client_as: ClientAs) -> None:
    """As long as nothing is thought of a lot's trip the page has no word of it."""
    response = client_as("trainer").get(f"/lot/{lot.pk}/")
    assert response.context["trip"] is None


@pytest.mark.parametrize(
    "login", ["trainer", "assistant", "secretary", "head_person", "carer", "rider", "vet", "owner"]
)
def test_who_may_do_what(lot: Lot, client_as: ClientAs, login: str) -> None:
    """Trainer, assistants and secretary choose and note; the vet notes; the head person reads; nobody else gets in."""
    browser, sale = client_as(login), lot.sale
    for address in ("/sales/", f"/sale/{sale.pk}/", f"/lot/{lot.pk}/"):
        assert browser.get(address).status_code == (200 if login in READ else 403)
    if login in READ:
        page = text(browser, f"/lot/{lot.pk}/")
        assert ("Put it on the shortlist" in page) == (login in CHOOSE)
        assert ("Note what you saw" in page) == (login in WRITE)
        assert ('href="/sales/"' in text(browser, "/string/")) == (login in READ)
    assert browser.post(f"/lot/{lot.pk}/shortlist/").status_code == (302 if login in CHOOSE else 403)
    assert browser.post(f"/lot/{lot.pk}/note/", form("Seen.")).status_code == (302 if login in WRITE else 403)
    assert (Mark.objects.count(), LotNote.objects.count()) == (login in CHOOSE, login in WRITE)


def test_a_lot_is_put_on_the_shortlist_and_off(lot: Lot, client_as: ClientAs) -> None:
    """A press puts the lot on with its reason, another takes it off; who and why stay to be read."""
    browser = client_as("assistant")
    done = browser.post(f"/lot/{lot.pk}/shortlist/", {"reason": "Walks well"}, follow=True).content.decode()
    assert "It is on the shortlist." in done
    assert "Walks well" in done
    browser.post(f"/lot/{lot.pk}/shortlist/", {"off": "1", "reason": "Too dear"})
    page = text(browser, f"/lot/{lot.pk}/")
    assert "It was taken off the shortlist." in page
    assert re.search(r"taken off by .*assistant.*Too dear", page)
    assert re.search(r"put on by .*assistant.*Walks well", page)


def test_a_note_is_written_corrected_and_withdrawn(lot: Lot, client_as: ClientAs) -> None:
    """What the vet saw stands on the page as it was written, and what it said before stays to be read."""
    browser = client_as("vet")
    browser.post(f"/lot/{lot.pk}/note/", form("Off hock full.", kind="vetting"))
    first = LotNote.objects.get()
    browser.post(f"/lot/note/{first.pk}/mend/", form("Near hock full.", kind="vetting"))
    page = text(browser, f"/lot/{lot.pk}/")
    assert page.index("Near hock full.") < page.index("What was corrected or withdrawn") < page.index("Off hock full.")
    assert "What it means for the horse, ask the vet." in page
    second = LotNote.objects.get(supersedes=first)
    browser.post(f"/lot/note/{second.pk}/mend/", {"withdraw": "1", "client_id": str(uuid4())})
    page = text(browser, f"/lot/{lot.pk}/")
    assert "Nothing has been noted yet." in page
    assert page.count("Withdrawn.") == 1
    assert LotNote.objects.count() == 3


def test_a_refused_note_comes_back_as_typed(lot: Lot, client_as: ClientAs) -> None:
    """A note that cannot be taken is shown again with its words and what is wrong, and nothing is written."""
    browser = client_as("trainer")
    for given, wrong in (
        (form("Seen tomorrow", when="2999-01-01T10:00"), "still to come"),
        (form("Seen once", when="then"), "Write it like"),
        (form("Seen", kind="weighed"), "weighed is not one of the available choices"),
    ):
        response = browser.post(f"/lot/{lot.pk}/note/", given)
        page = unescape(response.content.decode())
        assert response.status_code == 400
        assert given["text"] in page
        assert wrong in page
    nothing = browser.post(f"/lot/{lot.pk}/note/", form(""))
    assert "Write what was seen." in nothing.content.decode()
    assert not LotNote.objects.exists()


def test_the_same_note_sent_twice_is_one(lot: Lot, client_as: ClientAs) -> None:
    """Pressing twice notes once."""
    browser, given = client_as("trainer"), form("Walks out well.", kind="walk")
    for _ in range(2):
        assert browser.post(f"/lot/{lot.pk}/note/", given).status_code == 302
    assert LotNote.objects.count() == 1


def test_a_correction_without_words_changes_nothing(lot: Lot, client_as: ClientAs) -> None:
    """A correction that says nothing is refused in words, and the note stands."""
    one = said("trainer", lot, "Liked it.")
    response = client_as("trainer").post(f"/lot/note/{one.pk}/mend/", form(""))
    assert (response.status_code, "Nothing was corrected" in response.content.decode()) == (400, True)
    assert "Liked it." in text(client_as("trainer"), f"/lot/{lot.pk}/")


def test_others_notes_are_not_the_vets_to_correct(lot: Lot, client_as: ClientAs) -> None:
    """A vet is offered to correct his own notes only, and is refused the others."""
    own, other = said("vet", lot, "Scoped.", "vetting"), said("trainer", lot, "Liked it.")
    page = text(client_as("vet"), f"/lot/{lot.pk}/")
    assert f"/lot/note/{own.pk}/mend/" in page
    assert f"/lot/note/{other.pk}/mend/" not in page
    refused = client_as("vet").post(f"/lot/note/{other.pk}/mend/", form("No."))
    assert (refused.status_code, LotNote.objects.count()) == (400, 2)


def test_a_barn_phone_shows_the_list_alone(sale: Sale, lot: Lot, client_as: ClientAs) -> None:
    """On a barn phone the head person sees the list, and neither what the yard wants nor what was noted."""
    shortlist(lot, Person.objects.get(login="trainer"), on=True, reason="Walks well")
    said("vet", lot, "Scoped.", "vetting")
    browser = client_as("head_person")
    session = browser.session
    session["barn"] = True
    session.save()
    for address in ("/sales/", f"/sale/{sale.pk}/", f"/lot/{lot.pk}/"):
        assert not re.search(r"(?i)walks well|scoped|shortlist", text(browser, address))
    assert numbers(text(browser, f"/sale/{sale.pk}/?shortlisted=yes")) == []


def test_nothing_can_be_done_at_an_earlier_moment(lot: Lot, client_as: ClientAs) -> None:
    """A page that looks back offers no button of its own."""
    page = text(client_as("trainer"), f"/lot/{lot.pk}/?as_of=2190-01-01T00:00")
    assert "Note what you saw" not in page
    assert "Put it on the shortlist" not in page


def test_there_is_no_such_sale(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A number that no sale or lot has is told as such."""
    for address in ("/sale/999999/", "/lot/999999/"):
        assert client_as("trainer").get(address).status_code == 404
    assert client_as("trainer").post("/lot/999999/note/", form("Seen.")).status_code == 404


def test_no_page_draws_a_conclusion() -> None:
    """Nothing that the pages of sales say by themselves calls a horse sound, safe, clear or passed."""
    folder = Path(__file__).parents[2] / "src/upsides/web/sales"
    for path in [*folder.rglob("*.html"), *folder.rglob("*.py")]:
        assert not re.search(r"(?i)\b(sound|safe|clear(ed)?|passed|fit to)\b", path.read_text(encoding="utf-8")), path
