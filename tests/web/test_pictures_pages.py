"""The page of a horse's photographs and their files: taking them in, looking at them, who may not."""

import io
import re
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image

from upsides.books.models import Entry, Horse, Person, Photo, Share
from upsides.books.sent import Sent
from upsides.books.services.diary import withdraw
from upsides.books.services.photos import add_pictures
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(db: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder of its own for the pictures of one test."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return tmp_path


@pytest.fixture
def horse(db: None) -> Horse:
    """The horse that the person `owner` owns."""
    return Horse.objects.order_by("pk")[0]


def photo(colour: str = "olive", size: tuple[int, int] = (640, 480), kind: str = "JPEG") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, kind)
    return out.getvalue()


def added(horse: Horse, *colours: str, **said: str) -> list[Entry]:
    sent = [Sent(f"{colour}.jpg", io.BytesIO(photo(colour))) for colour in colours]
    return add_pictures(horse, sent, said, Person.objects.get(login="carer"))


def post(client: Client, horse: Horse, *files: SimpleUploadedFile, **typed: str) -> tuple[int, str]:
    form = {"client_id": str(uuid4()), "text": "", "seen": ""} | typed | {"pictures": list(files)}
    answer = client.post(f"/horse/{horse.pk}/pictures/", form, follow=True)
    return answer.status_code, answer.content.decode().replace("\u00a0", " ")


def read(client: Client, horse: Horse) -> str:
    answer = client.get(f"/horse/{horse.pk}/pictures/")
    assert answer.status_code == 200
    return answer.content.decode().replace("\u00a0", " ")


def fetched(client: Client, sha256: str, **headers: str) -> list[int]:
    """The answers to a picture and to its small one."""
    return [client.get(path, headers=headers).status_code for path in paths(sha256)]


def paths(sha256: str) -> tuple[str, str]:
    return f"/photo/{sha256}.jpg", f"/photo/{sha256}/small.jpg"


def test_several_are_taken_in_at_once(client_as: ClientAs, horse: Horse) -> None:
    """Whoever looks after a horse adds several pictures with their words, and sees them with day and name."""
    client = client_as("carer")
    assert f"No picture of {horse.name} has been kept yet." in read(client, horse)
    files = [SimpleUploadedFile("a.jpg", photo("olive")), SimpleUploadedFile("b.png", photo("navy", kind="PNG"))]
    status, page = post(client, horse, *files, text="After the farrier", for_owner="1")
    assert status == 200
    assert f"2 pictures of {horse.name} are kept." in page
    assert page.count('<img src="/photo/') == 2
    assert page.count('alt="After the farrier"') == 2
    assert page.count("· shown to the owner") == 2
    kept = [set(entry.values) for entry in Entry.objects.filter(kind="picture")]
    assert kept == [{"picture", "text", "for_owner"}] * 2


def test_files_are_for_one_pair_of_eyes(client_as: ClientAs, client: Client, horse: Horse) -> None:
    """A picture is a JPEG that the browser asks for each time; unchanged it is not sent again; strangers get none."""
    (entry,) = added(horse, "olive")
    sha256 = entry.values["picture"]
    for path, name in zip(paths(sha256), (sha256, f"{sha256}-small"), strict=True):
        answer = client_as("rider").get(path)
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["Cache-Control"] == "private, no-cache"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["ETag"] == f'"{name}"'
        assert Image.open(io.BytesIO(b"".join(answer.streaming_content))).format == "JPEG"
        again = client_as("rider").get(path, headers={"if-none-match": f'"{name}"'})
        assert (again.status_code, again.content, again["Cache-Control"]) == (304, b"", "private, no-cache")
        assert client.get(path).status_code == 302


def test_an_owner_sees_what_may_be_shown(client_as: ClientAs, horse: Horse) -> None:
    """An owner sees the ticked pictures of his own horse and no others, adds none, and is told where there is none."""
    owner, other = client_as("owner"), client_as("owner2")
    assert f"The yard has shown you no picture of {horse.name} yet." in read(owner, horse)
    (shut,), (shown,) = added(horse, "olive"), added(horse, "navy", text="In the sun", for_owner="1")
    page = read(owner, horse)
    assert page.count("<img ") == 1
    assert shown.values["picture"] in page
    assert "multipart" not in page
    assert "/diary/" not in page.split("<main")[1]
    assert fetched(owner, shown.values["picture"]) == [200, 200]
    assert fetched(owner, shut.values["picture"]) == [404, 404]
    assert other.get(f"/horse/{horse.pk}/pictures/").status_code == 404
    assert fetched(other, shown.values["picture"]) == [404, 404]
    status, page = post(owner, horse, SimpleUploadedFile("a.jpg", photo("red")))
    assert status == 400
    assert "written by people who work in the yard" in page
    assert Photo.objects.count() == 2


def test_what_is_withdrawn_or_sold_is_no_longer_shown(client_as: ClientAs, horse: Horse) -> None:
    """A withdrawn picture is gone for the owner, also for a browser that has it; so is all once the share has ended."""
    (first, second), owner = added(horse, "olive", "navy", for_owner="1"), client_as("owner")
    sha256 = first.values["picture"]
    assert fetched(owner, sha256) == [200, 200]
    withdraw(first, first.author, client_id=uuid4(), made_at=timezone.now())
    assert fetched(owner, sha256) == [404, 404]
    assert owner.get(paths(sha256)[0], headers={"if-none-match": f'"{sha256}"'}).status_code == 404
    assert sha256 not in read(owner, horse)
    assert fetched(client_as("carer"), sha256) == [200, 200]
    assert sha256 not in read(client_as("carer"), horse)
    assert fetched(owner, second.values["picture"]) == [200, 200]
    Share.objects.all().delete()
    assert fetched(owner, second.values["picture"]) == [404, 404]


def test_what_cannot_be_a_picture_is_not_looked_for(client_as: ClientAs, horse: Horse, folder: Path) -> None:
    """A name that is no hash, a hash that nobody entered, and a file that is gone are not there, and nothing breaks."""
    client = client_as("trainer")
    (folder / "secret.jpg").write_bytes(photo())
    for name in ("secret", "0" * 64, "A" * 64, "..%2f..%2fsecret", "0" * 63):
        assert client.get(f"/photo/{name}.jpg").status_code == 404
        assert client.get(f"/photo/{name}/small.jpg").status_code == 404
    (entry,) = added(horse, "olive")
    for path in folder.rglob(f"{entry.values['picture']}.jpg"):
        path.unlink()
    assert fetched(client, entry.values["picture"]) == [404, 404]
    assert "<img " in read(client, horse)


@pytest.mark.parametrize(
    ("name", "data", "reason"),
    [
        ("empty.jpg", b"", "the file is empty"),
        ("words.jpg", b"Dear owner", "no picture that can be read"),
        ("drawn.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture that can be read"),
        ("cut.jpg", photo(size=(900, 900))[:900], "cannot be read to its end"),
        ("large.jpg", photo() + bytes(40 << 20), "more than 25 MB"),
    ],
)
def test_a_refusal_leaves_nothing(
    client_as: ClientAs, horse: Horse, folder: Path, name: str, data: bytes, reason: str
) -> None:
    """Sent with a good one, a file that is no photograph is refused by name; nothing is kept, the words stay typed."""
    files = [SimpleUploadedFile("good.jpg", photo()), SimpleUploadedFile(name, data)]
    status, page = post(client_as("carer"), horse, *files, text="Both hind legs", for_owner="1")
    assert status == 400
    assert reason in page
    assert name in page
    assert "Both hind legs" in page
    assert 'value="1" checked' in page
    assert (Photo.objects.count(), Entry.objects.filter(kind="picture").count()) == (0, 0)
    assert [path for path in folder.rglob("*") if path.is_file()] == []


def test_a_form_without_a_file_is_refused(client_as: ClientAs, horse: Horse) -> None:
    """Nothing chosen, a time to come and a number that is none are refused in words."""
    client, file = client_as("carer"), lambda: SimpleUploadedFile("good.jpg", photo())
    assert "none was chosen" in post(client, horse)[1]
    status, page = post(client, horse, file(), seen="2099-01-01T10:00")
    assert status == 400
    assert "that is still to come" in page
    assert post(client, horse, file(), client_id="seven")[0] == 400
    assert Photo.objects.count() == 0


def test_the_owner_is_shown_it_by_a_correction(client_as: ClientAs, horse: Horse) -> None:
    """On the entry's own page words and tick are corrected, the picture stays the same, and can be withdrawn."""
    (entry,) = added(horse, "olive", text="Coat")
    client, owner = client_as("carer"), client_as("owner")
    page = client.get(f"/diary/{entry.pk}/").content.decode()
    sha256 = re.search(r'<input type="hidden" name="picture-picture" value="(\w{64})">', page)[1]
    assert fetched(owner, sha256) == [404, 404]
    form = {"picture-picture": sha256, "picture-text": "Summer coat", "picture-for_owner": "1"}
    assert client.post(f"/diary/{entry.pk}/mend/", form).status_code == 302
    assert fetched(owner, sha256) == [200, 200]
    assert 'alt="Summer coat"' in read(owner, horse)


def test_the_number_of_queries_stays(client_as: ClientAs, horse: Horse) -> None:
    """However many pictures there are, the page asks the books as often."""
    client = client_as("trainer")
    added(horse, "olive")
    read(client, horse)
    with CaptureQueriesContext(connection) as few:
        read(client, horse)
    added(horse, "navy", "red", "green", "black")
    with CaptureQueriesContext(connection) as many:
        read(client, horse)
    assert len(many) == len(few)
