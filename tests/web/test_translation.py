"""Every string on every page can be translated."""

import gettext
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from datetime import timedelta
from html.parser import HTMLParser
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.db.models import Value
from django.db.models.functions import Concat
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.template import engines
from django.test import Client
from django.urls import reverse
from django.utils.translation import activate, override, trans_real

import worlds
from programmed_yard import forget, programmed, table, usual_rows
from sale_lists import ONE, TWO
from sale_lists import read as read_list
from upsides.books import clock
from upsides.books.diary import KINDS
from upsides.books.models import Horse, Lot, LotNote, Mark, Person, Sale, Yard
from upsides.books.services.lot_notes import Noted, note, shortlist, withdraw_note
from upsides.books.services.sales import import_sale
from upsides.recordings.recording import Message
from upsides.recordings.sentences import SENTENCES
from upsides.results.library import Library
from upsides.rules import jurisdictions
from upsides.web.recordings.messages import message_words
from upsides.web.string.sentences import sex_words
from walking import walk

KEPT = re.compile(r"(%\(\w+\)[a-z]|%[a-z%]|\{[^{}]*\}|<[^>]+>|&#?\w+;)")
"""What stays as it is in a message: places to fill in, mark-up, characters written out."""

FULL_WIDTH = str.maketrans({chr(c): chr(c + 0xFEE0) for c in (*range(65, 91), *range(97, 123))})
UNITS = re.compile(r"(?<![A-Za-z])(lb|kg|g|st|m|km|mm|cm|f|s|h|min|bpm|ml|l|C|Upsides|UTC|PIN)(?![A-Za-z])")
WORD = re.compile(r"[A-Za-z]+")
FORM = re.compile(r"<form[^>]+post.*?</form>", re.S)
MARKED = re.compile(r"[Ａ-Ｚａ-ｚ]")
PLACE = "en-au"
"""The language whose place the marked one takes: one that no other test asks for, with days and numbers as here."""

SAID = ("aria-label", "title", "placeholder", "alt", "data-label", "aria-description")
SILENT = {"script", "style", "code", "datalist", "template"}
OF_A_LOT = ("number", "name", "colour", "sire", "dam", "dam_sire", "currency")
DATA_OF_RACES = ("course", "title", "race_class", "going", "race_key")
OF_A_READING = {
    "encoding": "9", "reason": "9", "line": 9, "prefixes": "9", "columns": "9", "zone": "9", "day": "9", "when": "9",
    "longest": "9", "metres": "9", "limit": 9, "track": 9, "kept": 9, "least": 9, "places": 9, "speed": 9, "share": 9,
    "timed": 9, "seconds": "9", "record": "9", "sport": "9", "weeks": "9", "was": "9",
}  # fmt: skip


class Marked(gettext.NullTranslations):
    """A language in which every letter of a translated text stands in full width."""

    def gettext(self, message: str) -> str:
        """Return the text after its context, marked; what is filled in later stays as it is."""
        parts = KEPT.split(message.rpartition("\x04")[2])
        return "".join(part if place % 2 else part.translate(FULL_WIDTH) for place, part in enumerate(parts))

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """Return the form for a number, marked."""
        return self.gettext(msgid1 if n == 1 else msgid2)

    def to_language(self) -> str:
        """Return whose place it takes."""
        return PLACE


@contextmanager
def marked_language() -> Iterator[None]:
    """Let every translation answer in the marked language."""
    with pytest.MonkeyPatch.context() as patch, override(None):
        patch.setitem(trans_real._translations, PLACE, Marked())
        activate(PLACE)
        yield


class Reader(HTMLParser):
    """Collects what a page says: its visible text, and the words of attributes that are read out or shown."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self._open: list[tuple[str, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the words of attributes; text within what is silent, or in another language, is not read."""
        values = dict(attrs)
        other = "lang" in values and tag != "html"
        drawn = tag == "text"  # an axis of a picture: numbers and dates
        silent = tag in SILENT or other or drawn or (bool(self._open) and self._open[-1][1])
        if not silent:
            self.said += [str(values[name]) for name in SAID if values.get(name)]
            if tag == "input" and values.get("type") in {"submit", "button"}:
                self.said.append(str(values.get("value")))
        if tag not in {"input", "meta", "link", "br", "hr", "img", "path", "circle", "polygon", "polyline"}:
            self._open.append((tag, silent))

    def handle_endtag(self, tag: str) -> None:
        """Leave an element, and those in it that were never closed."""
        if tag in {name for name, _ in self._open}:
            while self._open.pop()[0] != tag:
                pass

    def handle_data(self, data: str) -> None:
        """Note text that is seen."""
        if data.strip() and not (self._open and self._open[-1][1]):
            self.said.append(" ".join(data.split()))


def unmarked(page: str, data: Iterable[str]) -> list[str]:
    """Return what a page says that is neither marked nor data nor a unit."""
    reader = Reader()
    reader.feed(page)
    known = sorted(set(data), key=len, reverse=True)
    return [said for said in dict.fromkeys(reader.said) if WORD.search(without_data(said, known))]


def without_data(said: str, known: list[str]) -> str:
    """Return a text without the data in it and without units, addresses and hashes."""
    if not WORD.search(said):
        return ""
    for one in known:
        if one in said:
            said = said.replace(one, " ")
    return UNITS.sub(" ", re.sub(r"\S+@\S+|\S*/\S+", " ", said))


@pytest.fixture
def data(loaded: worlds.Yard) -> set[str]:
    """The names that stand in the yard's own data; sign-in names are made unlike the words for what people do."""
    a_sale()
    coming = programmed(loaded.library)
    for people in (Person.objects, Person.history):
        people.exclude(login=None).update(login=Concat(Value("zz-"), "login"))
    store = Library.open(loaded.library)
    races, runs = store.races().collect(), store.runs().collect()
    listed = [races[name].unique() for name in DATA_OF_RACES if name in races.columns]
    listed += [runs[name].unique() for name in ("horse_name", "jockey", "trainer") if name in runs.columns]
    listed.append(store.horses().collect()["name"])
    rows = Person.objects.values_list("name", "login", "barn", "email")
    rows = [*rows, *Horse.objects.values_list("name", "sire", "dam"), *Yard.objects.values_list("name", "zone")]
    rows += [*Sale.objects.values_list("name", "file"), *Lot.objects.values_list(*OF_A_LOT)]
    rows += [("PCV 42 % 32-48\nWBC 8.2 10^9/l 5.5-12.5",), *((place,) for place in jurisdictions())]
    rows += [(race.title, race.course) for race in coming.values()]
    rows += [*LotNote.objects.values_list("text"), *Mark.objects.values_list("reason")]
    found = {str(text) for column in listed for text in column} | {str(text) for row in rows for text in row}
    return {text for text in found if len(text) > 2 and text != "None"} | {"XU", *KINDS, "2026-06-01T17:30"}


def a_sale() -> None:
    """Enter a sale with a lot that is wanted, of which something was seen."""
    import_sale(read_list(ONE + TWO))
    lot, trainer = Lot.objects.order_by("pk")[0], Person.objects.get(login="trainer")
    shortlist(lot, trainer, on=True, reason="Zwalks zwell")
    shortlist(lot, trainer, on=False, reason="Zoo zear")
    shortlist(lot, trainer, on=True, reason="Zwalks zwell")
    seen = [note(lot, Noted(uuid4(), kind, f"Zeen {kind}"), trainer) for kind in ("look", "vetting")]
    withdraw_note(seen[0], trainer, uuid4())


def read(answer: HttpResponseBase) -> str | None:
    """Return what a page says, None for what is no page."""
    html = answer.headers.get("Content-Type", "").startswith("text/html")
    return answer.content.decode() if html and isinstance(answer, HttpResponse) and answer.content else None


def sent(browser: Client, page: str) -> Iterator[tuple[str, str]]:
    """Send every form of a page as it stands, and yield what comes back; all of it is undone after the test."""
    for form in FORM.findall(page):
        action = re.search(r'action="([^"]+)"', form)
        if action and action[1] not in (reverse("account_logout"), reverse("usersessions_list")):
            values = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))
            sender = Client(headers={"host": "localhost"})
            sender.cookies = deepcopy(browser.cookies)
            with transaction.atomic():
                back = read(sender.post(action[1], values, follow=True))
                transaction.set_rollback(True)
            if back:
                yield action[1], back


@pytest.mark.parametrize("who", ["trainer", "owner", "rider", ""])
def test_every_string_on_every_page_is_marked(
    who: str, data: set[str], client: Client, client_as: Callable[[str], Client], subtests: pytest.Subtests
) -> None:
    """In a marked language nothing on any page is unmarked but data, whoever looks, also where a form is refused."""
    browser = client_as(f"zz-{who}") if who else client
    pages: dict[str, str] = {}

    def get(path: str) -> str | None:
        page = read(browser.get(path))
        if page is not None:
            pages[path] = page
        return page

    with marked_language():
        found = walk(get, reverse("string") if who else reverse("account_login"))
        for path in ("/nowhere", "/horse/999999/", "/people/", reverse("barn"), "/?as_of=2026-06-01", "/?as_of=9"):
            get(path)
        for path, page in list(pages.items()):
            pages |= {f"{action}, sent from {path}": back for action, back in sent(browser, page)}
    assert found
    for path, page in pages.items():
        with subtests.test(path):
            assert MARKED.search(page)
            left = unmarked(page, data)
            assert left == [], "\n".join(left)


def shown(browser: Client, address: str, text: str) -> str:
    """Give a page a table; return the page that shows it."""
    place = browser.post(address, {"file": SimpleUploadedFile("calendar.csv", text.encode())})["Location"]
    page = read(browser.get(place))
    assert page is not None
    return page


def test_what_is_told_of_a_programme_is_marked(
    data: set[str], loaded: worlds.Yard, client_as: Callable[[str], Client]
) -> None:
    """Why lines and cells were not taken, and what changed of a race, can be translated."""
    office = client_as("zz-secretary")
    first, second, third = usual_rows(clock.today())
    newer = [
        first | {"Date": f"{clock.today() + timedelta(days=40)}"},
        second | {"Distance": "7f", "Max": "many"},
        third | {"Date": "some day"},
        third | {"Id": "4", "No": "4", "Title": "Sorrel Stakes", "Enter": "soon"},
        third | {"Id": "4", "No": "4", "Title": "Sorrel Stakes", "Enter": "later"},
        third | {"Id": "5", "No": "5", "Zone": "Nowhere/Here"},
    ]
    with marked_language():
        page = shown(office, reverse("programme_new"), table(newer))
    forget(loaded.library)
    for said in ("not a number", "not a date", "the distance", "moved from", "not the name of a time zone"):
        assert said.translate(FULL_WIDTH) in page, said
    words = {value for row in newer for value in row.values()}
    assert unmarked(page, [*data, *newer[0], *words, "calendar.csv", "id 4"]) == []


@pytest.mark.parametrize(
    ("source", "left"),
    [
        ("<p>{% translate 'Hello' %} Tallow, 482 kg</p>", []),
        ("<p>Hello</p>", ["Hello"]),
        ("<p>{% translate 'Hello' %} you</p>", ["Ｈｅｌｌｏ you"]),
        ("<p>{% blocktranslate with name='Tallow' %}{{ name }} <b>ran</b> well{% endblocktranslate %}</p>", []),
        ("<p>{% blocktranslate count n=2 %}{{ n }} run{% plural %}{{ n }} runs{% endblocktranslate %}</p>", []),
        ("<input placeholder='Name'>", ["Name"]),
        ("<button aria-label='Close'>×</button>", ["Close"]),
        ("<p lang='en'>plain words</p><code>upsides fit</code>", []),
        ("<ul><li>one<li>{% translate 'two' %}</ul>", ["one"]),
        ("<svg><title>A curve</title><text>July</text></svg>", ["A curve"]),
    ],
)
def test_the_marked_language_tells_marked_from_unmarked(source: str, left: list[str]) -> None:
    """A string that is not marked is found, also in an attribute; a marked one, data and units are not."""
    with marked_language():
        page = engines["django"].from_string("{% load i18n %}" + source).render()
    assert unmarked(page, {"Tallow"}) == left


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize("code", SENTENCES)
def test_the_page_says_what_the_command_says(code: str, count: int) -> None:
    """In English the page has the command's sentence, of one and of several."""
    one = Message(code, OF_A_READING | {"count": count})
    assert message_words(one) == (one.text, False)


@pytest.mark.parametrize("code", SENTENCES)
def test_every_sentence_can_be_translated(code: str) -> None:
    """In a marked language no letter of a sentence but units is unmarked."""
    with marked_language():
        said, as_written = message_words(Message(code, OF_A_READING | {"count": 3}))
    assert not as_written
    assert MARKED.search(said)
    assert not WORD.search(without_data(said, []))


def test_a_sentence_that_was_kept_as_written_is_said_so() -> None:
    """What an earlier version kept stands as it was written, and is told to be in English."""
    with marked_language():
        assert message_words(Message.of_json(["cut_off", "it breaks off", 1])) == ("it breaks off", True)


@pytest.mark.parametrize("sex", [*Horse.Sex.values, "male", "female"])
def test_every_sex_can_be_translated(sex: str) -> None:
    """The word for a sex is marked, also for those that only lists of lots have; the list of a language is kept."""
    assert sex_words(sex) == str(dict(Horse.Sex.choices).get(sex, sex))
    with marked_language():
        assert not WORD.search(sex_words(sex))
