"""Horses entered and changed on pages, boxes, and what is kept of a horse: forms, refusals, roles."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client

import worlds
from upsides.books import clock
from upsides.books.models import Box, Caution, Declarable, Horse, Move, OfficialMark, Person, Role, Share, Stand
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes
from upsides.books.services.boxes import add_boxes
from worlds import ClientAs

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
OFFICE = {Role.TRAINER, Role.ASSISTANT, Role.SECRETARY}


@pytest.fixture
def office(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("secretary")


@pytest.fixture
def horse(loaded: worlds.Yard) -> Horse:
    """The first owner's horse."""
    return Horse.objects.order_by("pk")[0]


@pytest.fixture
def row(loaded: worlds.Yard) -> list[Box]:
    return add_boxes("Top", "1-3", Person.objects.get(login="trainer"))


def text_of(browser: Client, address: str) -> str:
    response = browser.get(address)
    assert response.status_code == 200, address
    return unescape(str(response.content.decode()))


def filled(browser: Client, address: str) -> dict[str, str]:
    """Return what the main form of a page would send as it stands."""
    text = re.sub(r'(?s)<form class="(?:on-day|as-of)".*?</form>', "", text_of(browser, address))
    form = re.search(r'(?s)<form class="(?:stack|stack pairs)" method="post">(.*?)</form>', text)
    assert form
    found = {}
    for tag in re.findall(r"<input[^>]+>", form[1]):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and ('type="checkbox"' not in tag or "checked" in tag):
            found[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'(?s)<select name="([^"]+)".*?>(.*?)</select>', form[1]):
        chosen = re.search(r'value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    return found


def colt(**other: str) -> dict[str, str]:
    today = clock.today()
    usual = {"dam": "Fallow Bugle", "foaled": str(today.year - 2), "sex": "colt", "joined": f"{today:%Y-%m-%d}"}
    return usual | other


def test_entered_unnamed_and_named_later(office: Client) -> None:
    """A horse without a name is entered by its dam, asks for a box, and is named on its page; the list says so."""
    sent = office.post("/horse/new/", colt())
    horse = Horse.objects.get(dam="Fallow Bugle", named=False)
    assert sent.headers["Location"] == f"/horse/{horse.pk}/box/"
    assert "2-year-old colt, not named yet" in text_of(office, "/string/?q=fallow+bugle")
    assert "not named yet" in text_of(office, f"/horse/{horse.pk}/")
    form = filled(office, f"/horse/{horse.pk}/change/")
    assert form["name"] == ""
    assert office.post(f"/horse/{horse.pk}/change/", form | {"name": "Lantern Quill"}).status_code == 302
    horse.refresh_from_db()
    assert (horse.name, horse.named) == ("Lantern Quill", True)
    page = text_of(office, f"/horse/{horse.pk}/about/")
    assert f"Name: Lantern Quill; it was Fallow Bugle {horse.foaled}" in page


def test_a_form_kept_as_it_is_changes_nothing(office: Client, horse: Horse) -> None:
    """Opening the page of a horse and keeping it leaves its history as it was."""
    before = horse.history.count()
    assert office.post(f"/horse/{horse.pk}/change/", filled(office, f"/horse/{horse.pk}/change/")).status_code == 302
    assert horse.history.count() == before


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"joined": "2026-02-30"}, "no day of the calendar"),
        ({"microchip": "8260981000123456"}, "15 digits"),
        ({"microchip": "82609810001234５６"}, "15 digits"),
        ({"foaled": "99999999999999999999"}, "2150"),
        ({"foaled": ""}, "year of foaling"),
        ({"name": "Nul\x00l"}, "Null characters"),
        ({"name": "Lantern\u202eQuill"}, "signs in it that cannot be seen"),
        ({"sex": "filly", "gelded_on": "2026-03-01"}, "cannot be gelded"),
        ({"life_number": "x" * 41}, "at most 40"),
        ({"carer": "999999"}, "999999"),
    ],
)
def test_what_cannot_be_is_told_beside_its_field(office: Client, given: dict[str, str], words: str) -> None:
    """Nothing impossible is entered; the page says what is wrong and keeps what was typed."""
    before = Horse.objects.count()
    response = office.post("/horse/new/", colt(**given))
    assert response.status_code == 200
    text = unescape(response.content.decode())
    assert words in text
    assert 'value="Fallow Bugle"' in text
    assert Horse.objects.count() == before


def test_bytes_of_another_encoding_are_no_accident(office: Client) -> None:
    """A name sent in Latin-1 where UTF-8 is meant is refused in words or kept as it was read, and breaks no page."""
    body = b"dam=Fallow+Bugle&foaled=2024&sex=colt&joined=2026-06-01&name=Br%FBl%E9"
    response = office.post("/horse/new/", body, content_type="application/x-www-form-urlencoded")
    assert response.status_code in {200, 302}
    for made in Horse.objects.filter(dam="Fallow Bugle"):
        assert text_of(office, f"/horse/{made.pk}/")


def test_a_twin_is_asked_about(office: Client, horse: Horse) -> None:
    """A horse that looks like another is entered only once it is said that it is another."""
    given = colt(name=horse.name, foaled=str(horse.foaled))
    asked = office.post("/horse/new/", given)
    text = unescape(asked.content.decode())
    assert f"{horse.name} (horse {horse.pk}) has the same" in text
    assert 'name="anyway"' in text
    assert office.post("/horse/new/", given | {"anyway": "on"}).status_code == 302
    assert Horse.objects.filter(name=horse.name, foaled=horse.foaled).count() == 2


def test_two_offices_at_once(office: Client, client_as: ClientAs, horse: Horse) -> None:
    """Two who change one horse from the same page: other fields are both kept, the same field is asked about again."""
    address = f"/horse/{horse.pk}/change/"
    first, second = filled(office, address), filled(client_as("trainer"), address)
    office.post(address, first | {"colour": "bay"})
    client_as("trainer").post(address, second | {"markings": "star"})
    horse.refresh_from_db()
    assert (horse.colour, horse.markings) == ("bay", "star")
    clash = client_as("trainer").post(address, second | {"colour": "brown"})
    text = unescape(clash.content.decode())
    assert "changed colour while this page was open" in text
    assert "It stands as: bay." in text
    again = re.search(r'name="seen" value="(\d+)"', text)
    assert again
    knowing = second | {"colour": "brown", "markings": "star", "seen": again[1]}
    assert client_as("trainer").post(address, knowing).status_code == 302
    horse.refresh_from_db()
    assert (horse.colour, horse.markings) == ("brown", "star")


def test_a_gelding_is_offered_to_be_declared(office: Client, horse: Horse) -> None:
    """A colt gelded here becomes a gelding, and one press writes down that it must be declared before its next run."""
    horse.sex = "colt"
    horse.save()
    form = filled(office, f"/horse/{horse.pk}/change/")
    office.post(f"/horse/{horse.pk}/change/", form | {"gelded_on": f"{clock.today():%Y-%m-%d}"})
    assert "nothing says yet that this is to be declared" in text_of(office, f"/horse/{horse.pk}/about/")
    for _press in range(2):
        assert office.post(f"/horse/{horse.pk}/gelded/").status_code == 302
    assert Declarable.objects.get(horse=horse).what == "gelded"
    horse.refresh_from_db()
    assert horse.sex == "gelding"
    assert "to be told with the entry for its next run" in text_of(office, f"/horse/{horse.pk}/")


def doors(text: str) -> dict[str, str]:
    """Return the boxes that a page offers: the number that each button sends, by what it says."""
    found = re.findall(r'(?s)<button name="box" value="(\d+)"[^>]*><b>([^<]*)</b>', text)
    return {name.strip(): number for number, name in found}


def hidden(text: str, form: str) -> dict[str, str]:
    part = re.search(rf'(?s)<form class="{form}".*?</form>', text)
    assert part
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', part[0]))


def test_moved_with_two_taps(client_as: ClientAs, row: list[Box], horse: Horse) -> None:
    """The head person taps Move beside a horse and a box, and there it stands from today on."""
    head = client_as("head_person")
    assert f'href="/horse/{horse.pk}/box/"' in text_of(head, "/boxes/")
    page = text_of(head, f"/horse/{horse.pk}/box/")
    sent = head.post(f"/horse/{horse.pk}/box/", hidden(page, "choose-box") | {"box": doors(page)["2"]})
    assert sent.headers["Location"] == f"/boxes/#box-{row[1].pk}"
    assert boxes(moments.now())[horse.pk].name == "2"
    assert "Without a box:" in text_of(head, "/boxes/")


def test_a_taken_box_asks_and_swaps_overnight(office: Client, row: list[Box], horse: Horse) -> None:
    """From tomorrow on two horses change places: the page asks, and each day shows who stands where on it."""
    other = Horse.objects.order_by("pk")[1]
    today = clock.today()
    for one, box in ((horse, row[0]), (other, row[1])):
        Stand.objects.create(horse=one, box=box, first_day=today - DAY)
    address = f"/horse/{horse.pk}/box/?day={today + DAY:%Y-%m-%d}"
    page = text_of(office, address)
    asked = office.post(address, hidden(page, "choose-box") | {"box": doors(page)["2"]})
    text = unescape(asked.content.decode())
    assert f"Swap {horse.name} and {other.name}" in text
    assert boxes(moments.Moment(today + DAY))[horse.pk].name == "1"
    done = office.post(address, hidden(text, "asks") | {"taken": "swap"})
    assert done.headers["Location"].startswith(f"/boxes/?day={today + DAY:%Y-%m-%d}")
    for day, names in ((today, ("1", "2")), (today + DAY, ("2", "1"))):
        stood = boxes(moments.Moment(day))
        assert (stood[horse.pk].name, stood[other.pk].name) == names
        walk = re.sub(r"\s+", " ", text_of(office, f"/boxes/?day={day:%Y-%m-%d}"))
        first = walk.split(f'id="box-{row[0].pk}"')[1].split("</li>")[0]
        assert (horse.name in first) is (names[0] == "1")


def test_two_move_one_horse(office: Client, row: list[Box], horse: Horse) -> None:
    """Whoever moves a horse from a page on which it still stood elsewhere is told, and the first move stays."""
    page = text_of(office, f"/horse/{horse.pk}/box/")
    sent = hidden(page, "choose-box")
    office.post(f"/horse/{horse.pk}/box/", sent | {"box": doors(page)["1"]})
    late = office.post(f"/horse/{horse.pk}/box/", sent | {"box": doors(page)["2"]})
    assert "stands in Top 1 by now" in unescape(late.content.decode())
    assert boxes(moments.now())[horse.pk].name == "1"


def test_the_opening_names_what_is_not_in_order(office: Client, row: list[Box], horse: Horse) -> None:
    """The page of boxes opens with how many are taken, two horses in one box, and horses without one."""
    today, others = clock.today(), Horse.objects.order_by("pk")[1:]
    gone = [one.pk for one in others[2:]]
    Horse.objects.filter(pk__in=gone).update(left=today)
    for one in (horse, others[0]):
        Stand.objects.create(horse=one, box=row[0], first_day=today)
    answer = re.search(r'class="answer">([^<]+)<', text_of(office, "/boxes/"))
    first, second = sorted((horse.name, others[0].name))
    assert answer
    assert answer[1] == (
        f"1 of 3 boxes are taken. In Top 1 stand {first} and {second}. Without a box: {others[1].name}."
    )


@pytest.mark.parametrize("sent", [{}, {"day": "2026-13-01"}, {"day": "2026-06-20", "box": "x"}, {"box": "9" * 30}])
def test_nonsense_moves_nobody(office: Client, row: list[Box], horse: Horse, sent: dict[str, str]) -> None:
    """What no page of ours sends is refused in words."""
    assert office.post(f"/horse/{horse.pk}/box/", sent).status_code == 400
    assert office.get("/boxes/?day=tomorrow").status_code == 400
    assert not Stand.objects.exists()


def test_boxes_are_added_ordered_and_renamed(office: Client) -> None:
    """The office adds boxes, sends one to another place of the walk, and sets one apart."""
    office.post("/boxes/new/", {"barn": "Low", "names": "1-3"})
    numbers = list(Box.objects.order_by("position").values_list("pk", flat=True))
    places = {f"place-{number}": str(place) for place, number in enumerate(numbers, 1)}
    office.post("/boxes/order/", {"seen": numbers} | places | {f"place-{numbers[2]}": "1"})
    assert [box.name for box in Box.objects.order_by("position")] == ["3", "1", "2"]
    late = office.post("/boxes/order/", {"seen": numbers} | places)
    assert "changed the order" in unescape(late.content.decode())
    form = filled(office, f"/boxes/{numbers[2]}/")
    office.post(f"/boxes/{numbers[2]}/", form | {"name": "Far box", "isolation": "on"})
    page = text_of(office, "/boxes/")
    assert "Far box" in page
    assert "isolation" in page
    assert "twice" in unescape(office.post("/boxes/new/", {"barn": "Low", "names": "7, 7"}).content.decode())


LINES = {
    "moves": ({"to": "turned_out", "first_day": "2026-06-01", "note": "Long Meadow", "empty_box": "on"}, Move),
    "marks": ({"value": "78", "ground": "turf", "country": "gb", "effective": "2026-06-01"}, OfficialMark),
    "declare": ({"what": "hood", "happened_on": "2026-06-01", "declared_on": ""}, Declarable),
    "cautions": (
        {"about": "riding", "text": "Whips", "skill": "4", "first_day": "2026-06-01", "heaviest_kg": "62.5"},
        Caution,
    ),
}


@pytest.mark.parametrize("section", list(LINES))
def test_lines_written_corrected_and_taken_out(office: Client, horse: Horse, section: str) -> None:
    """Each kind of line is written, stands on the page, opens as it was written, and can be taken out."""
    values, model = LINES[section]
    address = f"/horse/{horse.pk}/about/{section}/"
    assert office.post(f"{address}new/", values).status_code == 302
    line = model.objects.get(horse=horse)
    assert f'href="{address}{line.pk}/"' in text_of(office, f"/horse/{horse.pk}/about/")
    form = filled(office, f"{address}{line.pk}/")
    before = line.history.count()
    assert office.post(f"{address}{line.pk}/", form).status_code == 302
    assert line.history.count() == before
    assert office.post(f"{address}{line.pk}/out/", {"seen": "0"}).status_code == 400
    assert office.post(f"{address}{line.pk}/out/", {"seen": form["seen"]}).status_code == 302
    assert not model.objects.exists()


def test_two_correct_one_line(office: Client, horse: Horse) -> None:
    """The second of two who correct a mark is told, keeps what was typed, and can keep it knowingly."""
    line = OfficialMark.objects.create(horse=horse, ground="turf", country="GB", value=70, effective=clock.today())
    address = f"/horse/{horse.pk}/about/marks/{line.pk}/"
    form = filled(office, address)
    office.post(address, form | {"value": "72"})
    late = unescape(office.post(address, form | {"value": "74"}).content.decode())
    assert "changed value while this page was open" in late
    again = re.search(r'name="seen" value="(\d+)"', late)
    assert again
    assert 'value="74"' in late
    assert office.post(address, form | {"value": "74", "seen": again[1]}).status_code == 302
    line.refresh_from_db()
    assert line.value == 74


def test_two_change_one_box(office: Client, row: list[Box]) -> None:
    """The second of two who rename a box is told and can rename it knowingly."""
    address = f"/boxes/{row[0].pk}/"
    form = filled(office, address)
    office.post(address, form | {"name": "Corner"})
    late = unescape(office.post(address, form | {"name": "Foaling box"}).content.decode())
    assert "changed name while this page was open" in late
    again = re.search(r'name="seen" value="(\d+)"', late)
    assert again
    assert office.post(address, form | {"name": "Foaling box", "seen": again[1]}).status_code == 302
    assert Box.objects.get(pk=row[0].pk).name == "Foaling box"


def test_owners_over_time(office: Client, horse: Horse) -> None:
    """A sole owner who sells half leaves a day on which the parts are not one, and the page says which."""
    line = Share.objects.get(horse=horse)
    other = Person.objects.get(login="owner2")
    form = filled(office, f"/horse/{horse.pk}/about/owners/{line.pk}/")
    ended = form | {"last_day": "2026-05-31"}
    assert office.post(f"/horse/{horse.pk}/about/owners/{line.pk}/", ended).status_code == 302
    half = {"part": "1/2", "kind": "partnership", "first_day": "2026-06-02", "last_day": "", "leased_from": ""}
    for owner, decides in ((line.owner, {"managing": "on"}), (other, {})):
        office.post(f"/horse/{horse.pk}/about/owners/new/", half | decides | {"owner": str(owner.pk)})
    page = text_of(office, f"/horse/{horse.pk}/about/").replace("\u00a0", " ")
    assert "Nobody is said to own it from 1 June 2026 to 1 June 2026." in page
    wrong = office.post(f"/horse/{horse.pk}/about/owners/new/", half | {"owner": str(other.pk), "part": "3/2"})
    assert "not between nothing and the whole" in unescape(wrong.content.decode())


def test_no_section_but_ours(office: Client, horse: Horse) -> None:
    """A word that is no kind of line, and a line of another horse, are not found."""
    other = Horse.objects.order_by("pk")[1]
    line = OfficialMark.objects.create(horse=other, ground="turf", country="GB", value=70, effective=clock.today())
    assert office.get(f"/horse/{horse.pk}/about/nonsense/new/").status_code == 404
    assert office.get(f"/horse/{horse.pk}/about/marks/{line.pk}/").status_code == 404


def test_owners_see_what_they_saw_before(client_as: ClientAs, row: list[Box], horse: Horse) -> None:
    """An owner reads the barn of his horse, and no box, caution, chip, declaration or official mark of the books."""
    today = clock.today()
    Horse.objects.filter(pk=horse.pk).update(microchip="826098100012345", markings="star")
    Stand.objects.create(horse=horse, box=row[1], first_day=today)
    Caution.objects.create(horse=horse, about="box", text="Bites hard", first_day=today)
    Declarable.objects.create(horse=horse, what="hood", happened_on=today)
    OfficialMark.objects.create(horse=horse, ground="turf", country="GB", value=113, effective=today)
    secret = ("Bites hard", "098100012345", "Hood first time", "113", "Top 2", "star</dd>", f"/horse/{horse.pk}/about/")
    mine = text_of(client_as("owner"), f"/horse/{horse.pk}/")
    assert [words for words in secret if words in mine] == []
    assert ">Top<" in mine
    ours = text_of(client_as("trainer"), f"/horse/{horse.pk}/")
    assert [words for words in secret if words not in ours] == []


@pytest.mark.parametrize("role", list(Role))
def test_who_may_do_what(client_as: ClientAs, row: list[Box], horse: Horse, role: Role) -> None:
    """The office changes horses and boxes, the head person moves them too, all who work here see the boxes."""
    browser = client_as(role.value)
    opened = {
        "/boxes/": role is not Role.OWNER,
        f"/horse/{horse.pk}/box/": role in OFFICE | {Role.HEAD_PERSON},
        f"/horse/{horse.pk}/about/": role in OFFICE,
        f"/horse/{horse.pk}/change/": role in OFFICE,
        f"/horse/{horse.pk}/about/cautions/new/": role in OFFICE,
        "/horse/new/": role in OFFICE,
        "/boxes/new/": role in OFFICE,
    }
    for address, may in opened.items():
        assert browser.get(address).status_code == (200 if may else 403), address
    own = Share.objects.filter(horse=horse, owner__login=role.value).exists()
    if role is not Role.OWNER or own:
        page = text_of(browser, f"/horse/{horse.pk}/")
        assert (f"/horse/{horse.pk}/about/" in page) is (role in OFFICE)
        assert (f"/horse/{horse.pk}/box/" in page) is (role in OFFICE | {Role.HEAD_PERSON})


def test_every_page_is_whole(office: Client, row: list[Box], horse: Horse) -> None:
    """Each page has a title, one first heading, an opening sentence, no id twice, and nothing inline."""
    numbers = f"/horse/{horse.pk}"
    of_horse = [f"{numbers}/{page}" for page in ("change/", "about/", "box/", "about/owners/new/")]
    for address in ("/boxes/", "/boxes/new/", "/boxes/order/", f"/boxes/{row[0].pk}/", "/horse/new/", *of_horse):
        text = text_of(office, address)
        assert re.search(r"<title>[^<]+ · Upsides</title>", text)
        assert text.count("<h1") == 1
        assert text.count('class="answer"') == 1
        assert "None" not in text.replace("None yet.", "").replace("None.", "")
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids), address
