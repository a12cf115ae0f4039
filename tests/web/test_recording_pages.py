"""Pages of recordings: what they say, who may do what, what devices are told, and what works show."""

import json
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils.html import strip_tags

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Device, Gallop, Horse, Job, Outing, Person, Recorded, Tracker
from upsides.books.queries import moments
from upsides.books.services.devices import add_upload_key
from upsides.books.services.gallops import draw_gallop
from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.formats.fit import write_fit
from upsides.trade.units import FURLONG_M
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(loaded: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A library's folder for the files of one test."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return tmp_path


@pytest.fixture
def work(folder: Path, seat: Any) -> Any:
    """A function that does what the jobs ask that wait, as a worker would."""

    def done() -> None:
        for job in Job.objects.filter(state=Job.State.WAITING).order_by("pk"):
            run(job.pk)

    return done


@pytest.fixture
def trainer(client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def drop(trainer: Client, work: Callable[[], None]) -> Callable[..., None]:
    """A function that drops files by their names, and has them read."""

    def dropped(**files: bytes) -> None:
        sent = [SimpleUploadedFile(name.replace("__", "."), data) for name, data in files.items()]
        assert trainer.post("/recordings/add/", {"files": sent}).status_code == 302
        work()

    return dropped


@pytest.fixture
def key(loaded: Any) -> str:
    return add_upload_key("The dock", Person.objects.get(login="trainer"))[1]


def horses() -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk"))


def drawn() -> Gallop:
    return draw_gallop(Gallop(name="Straight six", surface="woodchip"), given.LINE)


def words(client: Client, address: str, status: int = 200) -> str:
    """Return what a page says, in words."""
    return plain(html(client, address, status))


def html(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status, (address, response.status_code)
    return response.content.decode()


def plain(page: str) -> str:
    found = re.search(r"<main.*?</main>", page, re.S)
    return " ".join(unescape(strip_tags((found or [page])[0])).replace("\xa0", " ").split())


def send(key: str | None, body: bytes = b"", query: str = "", **more: Any) -> tuple[int, dict[str, Any]]:
    """Send as a device does: without a session, tokens of pages checked."""
    head = {} if key is None else {"authorization": f"Bearer {key}"}
    client = Client(headers={"host": "localhost", **head}, enforce_csrf_checks=True)
    asked = more or {"data": body, "content_type": "application/octet-stream"}
    response = client.post(f"/recordings/send/{query}", **asked)
    return response.status_code, json.loads(response.content)


# The list ---------------------------------------------------------------------------------------------------------


def test_what_came_in_and_what_waits_is_said_in_a_sentence(
    trainer: Client, drop: Callable[..., None], at: datetime
) -> None:
    """The list opens with how many of the day's recordings have their horse and how many wait, then tells each."""
    assert "No recording of today has come in, and none waits" in words(trainer, "/recordings/")
    named = f"{horses()[0].name}__fit".replace(" ", "_")
    drop(**{named: given.fit(at), "b__fit": given.fit(at, serial="9")})
    said = words(trainer, "/recordings/")
    assert "1 of 2 recordings of today are given to horses; 1 waits." in said
    assert "2 recordings read." in said
    assert horses()[0].name in said
    assert "Canter" in said


def test_a_file_that_cannot_be_read_says_why_beside_the_others(
    trainer: Client, drop: Callable[..., None], at: datetime
) -> None:
    """Of several files each says what it gave; what could not be read, with why not and what to do."""
    drop(a__fit=given.fit(at), b__fit=b"")
    said = words(trainer, "/recordings/")
    assert "1 recording read, 1 could not be read." in said
    assert "b.fit It is empty; copy it from the device again." in said


def test_nothing_chosen_is_told_beside_the_form(trainer: Client) -> None:
    """A form without a file comes back with what is missing."""
    response = trainer.post("/recordings/add/", {})
    assert response.status_code == 400
    assert "choose the files of trackers" in response.content.decode()
    assert not Job.objects.exists()


def test_a_reading_shows_how_far_it_is_and_renews_itself(trainer: Client, at: datetime) -> None:
    """While files are read the page asks for its own first part again, and no longer when they have been."""
    sent = SimpleUploadedFile("a.fit", given.fit(at))
    trainer.post("/recordings/add/", {"files": [sent]})
    page = html(trainer, "/recordings/")
    assert "1 file is being read." in plain(page)
    assert 'hx-trigger="every 2s"' in page
    assert "<progress" in page
    Job.objects.update(state=Job.State.DONE, ended_at=clock.now(), result={"files": []})
    assert "hx-trigger" not in html(trainer, "/recordings/")


def test_a_tap_gives_a_recording_to_its_horse(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """Whose a recording is, is said by one press, remembered by its tracker, put right, and taken back."""
    drop(a__fit=given.fit(at))
    row, (one, other, *_) = Recorded.objects.get(), horses()
    address = f"/recordings/{row.pk}/"
    assert "It waits for a horse." in words(trainer, address)
    trainer.post(f"{address}horse/", {"horse": one.pk})
    assert f"{one.name}: somebody said so." in words(trainer, address)
    assert Tracker.objects.get().horse == one
    trainer.post(f"{address}horse/", {"horse": other.pk})
    said = words(trainer, address)
    assert f"{other.name}: somebody said so." in said
    assert f"{one.name}, somebody said so" in said  # what was said before stays to be seen
    trainer.post(f"{address}nobody/")
    assert "It waits for a horse." in words(trainer, address)
    assert trainer.post(f"{address}horse/", {"horse": "x"}).status_code == 404


def test_a_tracker_is_renamed_and_worn_by_another(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """What a tracker is called and who wears it is changed on its page; a name of another tracker is refused."""
    drop(a__fit=given.fit(at), b__fit=given.fit(at, serial="9"))
    first, second = Tracker.objects.order_by("pk")
    address = f"/recordings/tracker/{first.pk}/"
    assert trainer.post(address, {"name": "Number 3", "horse": horses()[1].pk}).status_code == 302
    first.refresh_from_db()
    assert (first.name, first.horse) == ("Number 3", horses()[1])
    assert first.history.latest().history_user == Person.objects.get(login="trainer")
    refused = trainer.post(address, {"name": second.name.upper(), "horse": ""})
    assert refused.status_code == 400
    assert "another tracker is called so" in refused.content.decode()


@pytest.mark.parametrize("login", ["carer", "rider", "vet"])
def test_others_look_and_change_nothing(
    login: str, client_as: ClientAs, drop: Callable[..., None], at: datetime
) -> None:
    """Carers, riders and the vet see recordings, and are offered no file, no horse and no key."""
    drop(a__fit=given.fit(at))
    client, row = client_as(login), Recorded.objects.get()
    for address in ("/recordings/", f"/recordings/{row.pk}/"):
        main = re.search(r"<main.*?</main>", html(client, address), re.S)[0]
        assert "Canter" in main
        assert "<form" not in main
    assert client.post(f"/recordings/{row.pk}/horse/", {"horse": horses()[0].pk}).status_code == 403
    assert client.get("/recordings/keys/").status_code == 403


# One recording ----------------------------------------------------------------------------------------------------


def test_a_recording_says_what_was_done(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """A canter at 10 m/s from 50 m before a gallop of six furlongs to 50 m behind it is said to be six of 20.1 s."""
    drawn()
    drop(a__fit=given.fit(at))
    said = words(trainer, f"/recordings/{Recorded.objects.get().pk}/")
    furlong = FURLONG_M / given.CANTER_MS
    assert re.search(r"Canter 6 f on Straight six: (\S+) s for the last three furlongs, (\S+) for two\.", said)
    three = float(re.search(r"(\S+) s for the last three", said)[1])
    assert three == pytest.approx(3 * furlong, abs=0.2)
    assert re.search(r"From the mark at 1 f20\.1 ± \S+ m/s0 m 1 f20\.1 ± \S+ m/s201 m 1 f20\.1 ± \S+ m/s402 m ", said)
    for head in ("Speed, heart and height", "Furlong by furlong", "Heart", "What it did", "Distance by speed"):
        assert head in said
    assert "Heights are the device's own, smoothed; what they are counted from only the device knows." in said


def test_the_chart_has_one_axis_and_one_cursor(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """Speed, heart, height and gradient stand in panels that share x and the cursor; its rows say the true speed."""
    drop(a__fit=given.fit(at))
    number = Recorded.objects.get().pk
    spec = trainer.get(f"/recordings/{number}/chart.json").json()
    assert len(spec["vconcat"]) == 4
    assert spec["resolve"]["scale"]["x"] == "shared"
    assert [one["name"] for one in spec["params"]][:3] == ["first", "last", "here"]
    for panel in spec["vconcat"]:
        assert "here" in json.dumps(panel)
    rows = spec["datasets"]["rows"]
    fast = [row for row in rows if row["speed"] and row["speed"] > 9]
    assert len(fast) > 60  # every second of the canter, which took two minutes
    middle = fast[len(fast) // 2]
    assert middle["low"] < given.CANTER_MS < middle["high"] or abs(middle["speed"] - given.CANTER_MS) < 0.3
    far = trainer.get(f"/recordings/{number}/chart.json?along=distance").json()["datasets"]["rows"]
    assert far[-1]["x"] == pytest.approx(sum(given.way()[0]) / given.HZ, rel=0.02)


def test_the_map_holds_the_gallop_and_the_way(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """The map names the gallop, has a scale and north, and fetches nothing."""
    drawn()
    drop(a__fit=given.fit(at))
    page = html(trainer, f"/recordings/{Recorded.objects.get().pk}/")
    ground = re.search(r'<figure class="ground".*?</figure>', page, re.S)[0]
    assert "Straight six" in ground
    assert "north" in ground
    assert re.search(r">\d+ m</text>", ground)
    assert "<image" not in ground
    assert "href" not in ground


def test_acceleration_says_how_even_strides_were(trainer: Client, drop: Callable[..., None], at: datetime) -> None:
    """A recording with acceleration says how even its strides at trot were, and that the vet says what it means; of one
    without it nothing is said."""
    felt = alone(2, Receiver(motion_hz=50.0, heart=False), start_s=at.timestamp()).recording
    drop(a__fit=write_fit(felt), b__fit=given.fit(at + timedelta(days=1)))
    with_it, without = (words(trainer, f"/recordings/{row.pk}/") for row in Recorded.objects.order_by("file"))
    assert re.search("At trot the two halves of a stride were alike to 0.9[89] ± 0.01", with_it)
    assert re.search(r"At 8–10 m/s a stride was 4\.\d\d m long, and there were [12]\.\d\d a second", with_it)
    assert "ask the vet" in with_it
    assert "How even" not in without
    assert "a stride was" not in without


def test_too_little_left_concludes_nothing(
    trainer: Client, drop: Callable[..., None], at: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where too few positions could be used the page says so and shows neither times nor curves of speed."""
    drop(a__fit=given.fit(at))
    row = Recorded.objects.get()
    Outing.objects.create(
        recorded=row, horse=horses()[0], day=at.date(), began=at, matched="hand", metres=0, fast_m=0,
        measured={"bouts": [], "works": [], "kept": 0.2}, recorded_at=clock.now(),
    )  # fmt: skip
    said = words(trainer, f"/recordings/{row.pk}/")
    assert "Too little of this recording could be used" in said
    assert "20 in 100 positions could be used." in said
    assert "Furlong by furlong" not in said
    assert "Speed, heart" not in said


def test_what_is_not_there_is_not_found(trainer: Client) -> None:
    """A recording, a gallop or a horse of no such number is a page that says so."""
    for address in ("/recordings/9999/", "/recordings/9999/chart.json", "/gallop/9999/works/", "/horse/9999/works/"):
        assert trainer.get(address).status_code == 404


def test_a_gallop_is_drawn_from_a_canter(
    trainer: Client, drop: Callable[..., None], work: Callable[[], None], at: datetime
) -> None:
    """A canter is shown as a line with marks before it is kept; kept, the canter is known to have been on it."""
    drop(a__fit=given.fit(at))
    address = f"/recordings/{Recorded.objects.get().pk}/gallop/"
    first = words(trainer, address)
    assert "The line is 1,3" in first  # about 1307 m were cantered
    asked = {"work": "0", "marks": "200m", "gallop": "", "name": "Hill", "surface": "turf"}
    shown = trainer.post(address, asked | {"show": "1"}).content.decode()
    assert "Marks at 0, 200, 400" in plain(shown)
    assert not Gallop.objects.filter(name="Hill").exists()
    refused = trainer.post(address, asked | {"save": "1", "marks": "200, 100"})
    assert refused.status_code == 400
    assert "they do not rise" in refused.content.decode()
    trainer.post(address, asked | {"save": "1"})
    row = Gallop.objects.get(name="Hill")
    assert row.marks[:3] == [0.0, 200.0, 400.0]
    again = trainer.post(address, asked | {"save": "1"})
    assert again.status_code == 400  # a second gallop of that name


# Devices ----------------------------------------------------------------------------------------------------------


def test_a_device_sends_with_its_key(key: str, at: datetime, work: Callable[[], None]) -> None:
    """A body or a form with files is received, sent again it is known, and the device can ask what became of it."""
    data = given.fit(at)
    status, told = send(key, data, "?name=a.fit")
    assert (status, told["received"], told["already"]) == (202, ["a.fit"], [])
    work()
    assert Recorded.objects.get().file == "a.fit"
    status, again = send(key, data, "?name=b.fit")
    assert (status, again["received"], again["already"]) == (202, [], ["b.fit"])
    good, bad = SimpleUploadedFile("c.fit", given.fit(at, serial="9")), SimpleUploadedFile("d.fit", b"no")
    two = {"data": {"x": good, "y": bad}}
    status, both = send(key, **two)
    assert (status, sorted(both["received"])) == (202, ["c.fit", "d.fit"])
    work()
    client = Client(headers={"host": "localhost", "authorization": f"Bearer {key}"})
    became = client.get(f"/recordings/send/?job={both['job']}").json()
    assert {one["file"]: one["state"] for one in became["files"]} == {"c.fit": "received", "d.fit": "refused"}
    assert next(one["reason"] for one in became["files"] if one["file"] == "d.fit")


def test_a_device_is_refused_in_words(key: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a key, with one that was ended, with nothing, with too much and too often a device is told why not."""
    assert send(None, b"x")[0] == 401
    assert send("upload-wrong", b"x")[0] == 401
    status, told = send(key, b"")
    assert (status, "no file was given" in told["refused"]) == (400, True)
    monkeypatch.setattr("upsides.web.recordings.sending.MOST_A_FILE", 3)
    status, told = send(key, b"four")
    assert (status, "larger than" in told["refused"]) == (413, True)
    monkeypatch.setattr("upsides.web.recordings.sending.A_MINUTE", 0)
    assert send(key, b"one")[0] == 429
    Device.objects.update(revoked_at=clock.now())
    assert send(key, b"x")[0] == 401


def test_a_device_learns_nothing_of_what_another_sent(key: str, at: datetime) -> None:
    """A key asks after its own sendings only."""
    _, told = send(key, given.fit(at))
    other = add_upload_key("Another", Person.objects.get(login="trainer"))[1]
    client = Client(headers={"host": "localhost", "authorization": f"Bearer {other}"})
    assert client.get(f"/recordings/send/?job={told['job']}").status_code == 404


def test_a_key_is_shown_once_and_ended(trainer: Client, at: datetime) -> None:
    """The page that makes a key shows it, with the yard's own address; no page shows it again; ended it is no key."""
    made = trainer.post("/recordings/keys/", {"name": "The dock"}).content.decode()
    token = re.search(r"upload-[\w-]{20,}", made)[0]
    assert "http://localhost/recordings/send/" in made
    assert "The dock" in made
    assert token not in html(trainer, "/recordings/keys/")
    assert send(token, given.fit(at))[0] == 202
    assert trainer.post(f"/recordings/keys/{Device.objects.get(name='The dock').pk}/end/").status_code == 302
    assert send(token, given.fit(at))[0] == 401


# Works ------------------------------------------------------------------------------------------------------------


def test_a_horses_works_are_told_with_what_measured_them(
    trainer: Client, drop: Callable[..., None], at: datetime
) -> None:
    """A canter by tracker stands in the chart, the bars and the table of its horse, and leads to its recording."""
    drop(a__fit=given.fit(at - timedelta(days=1)))
    row, horse = Recorded.objects.get(), horses()[0]
    trainer.post(f"/recordings/{row.pk}/horse/", {"horse": horse.pk})
    page = html(trainer, f"/horse/{horse.pk}/works/")
    assert f"{horse.name} cantered or worked once in twelve months; each was measured." in plain(page)
    assert f'href="/recordings/{row.pk}/"' in page
    assert "by tracker" in plain(page)
    assert "Distance by speed, by week" in plain(page)
    works = trainer.get(f"/horse/{horse.pk}/works.json").json()["datasets"]["works"]
    assert [(one["source"], one["fast"]) for one in works] == [("tracker", False)]
    assert works[0]["speed"] == pytest.approx(given.CANTER_MS, abs=0.5)
    assert f'href="/horse/{horse.pk}/works/"' in html(trainer, f"/horse/{horse.pk}/")


def test_a_gallop_tells_its_works_and_why_none_is_adjusted(
    trainer: Client, drop: Callable[..., None], at: datetime
) -> None:
    """A gallop lists what worked on it, the last first, and says why a single work is not adjusted."""
    gallop = drawn()
    drop(a__fit=given.fit(at))
    row, horse = Recorded.objects.get(), horses()[0]
    trainer.post(f"/recordings/{row.pk}/horse/", {"horse": horse.pk})
    said = words(trainer, f"/gallop/{gallop.pk}/works/")
    assert "1 work on Straight six in twelve months." in said
    assert horse.name in said
    assert "Nothing is adjusted: it takes 12 works on 3 days, and there are 1 on 1." in said
    points = trainer.get(f"/gallop/{gallop.pk}/works.json").json()["datasets"]["works"]
    assert points[0]["speed"] == pytest.approx(given.CANTER_MS, abs=0.1)
