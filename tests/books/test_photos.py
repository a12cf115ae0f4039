"""Photographs: what is taken in and what is refused, what their files hold, who may look, how they are kept."""

import hashlib
import io
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from uuid import uuid4

import pytest
from PIL import ExifTags, Image, ImageDraw
from pillow_heif import from_pillow

from fresh import SMALL_BOOKS, fresh, opened, told
from upsides.books import photographs
from upsides.books.diary import kind_of
from upsides.books.models import Entry, Horse, Person, Photo
from upsides.books.photographs import prepared, small
from upsides.books.queries import moments
from upsides.books.queries.photos import file_of, may_see_photo, pictures_of
from upsides.books.queries.visitors import visitor
from upsides.books.sent import Sent
from upsides.books.services.diary import withdraw
from upsides.books.services.photos import MOST, add_pictures, small_picture
from upsides.errors import EntryRefusedError, NoDiaryError, NoPhotoError, PhotoRefusedError, TooManyPhotosError

GPS = {
    ExifTags.GPS.GPSLatitudeRef: "N",
    ExifTags.GPS.GPSLatitude: (52.0, 14.0, 45.5),
    ExifTags.GPS.GPSLongitudeRef: "E",
    ExifTags.GPS.GPSLongitude: (0.0, 24.0, 22.25),
}
MAKER, PLACE = "Quillon Phones", b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>GPSLatitude 52,14.7N</x:xmpmeta>"
LEFT_RED, TURNED = "red", 6
"""The left half of what is drawn, and the note of a camera that was held so that the right of it is up."""


def drawn(width: int = 60, height: int = 40, mode: str = "RGB") -> Image.Image:
    """A picture whose left half is red and whose right half is blue."""
    image = Image.new(mode, (width, height), "blue")
    ImageDraw.Draw(image).rectangle((0, 0, width // 2 - 1, height), fill=LEFT_RED)
    return image


def noted(turned: int = 1) -> Image.Exif:
    """Notes of a camera: how it was held, who made it, and where it was."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation], exif[ExifTags.Base.Make] = turned, MAKER
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(GPS)
    return exif


def written(image: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def heic(image: Image.Image) -> bytes:
    out = io.BytesIO()
    from_pillow(image).save(out, quality=80, exif=noted().tobytes())
    return out.getvalue()


def read(jpeg: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(jpeg))
    image.load()
    return image


def jpeg(width: int = 60, height: int = 40) -> bytes:
    """A photograph as a phone writes it, unlike any other."""
    image = drawn(width, height)
    image.putpixel((5, 5), (uuid4().int % 256, uuid4().int % 256, 0))
    ImageDraw.Draw(image).rectangle((0, 0, 9, 9), fill=tuple(uuid4().bytes[:3]))
    return written(image, exif=noted(), comment=b"52.246 N", xmp=PLACE)


@pytest.mark.parametrize(
    "data",
    [
        written(drawn(), exif=noted()),
        written(drawn(), "PNG", exif=noted()),
        written(drawn(), "WEBP", exif=noted(), lossless=True),
        heic(drawn(64, 48)),
        written(drawn().convert("L")),
        written(drawn().convert("P"), "PNG"),
        written(drawn().convert("CMYK")),
    ],
    ids=["jpeg", "png", "webp", "heic", "grey", "palette", "cmyk"],
)
def test_every_format_is_kept_as_jpeg(data: bytes) -> None:
    """JPEG, PNG, WebP and HEIC are taken in, and kept as a JPEG of three colours of the same shape."""
    kept = prepared(data, "one")
    image = read(kept.jpeg)
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (kept.width, kept.height))
    assert (kept.width, kept.height) in {(60, 40), (64, 48)}
    assert kept.sha256 == hashlib.sha256(kept.jpeg).hexdigest()


def test_where_it_was_taken_is_gone() -> None:
    """Of place, camera, comment and every other note nothing is left, in the picture's notes as in its bytes."""
    data = written(drawn(), exif=noted(), comment=b"52.246 N", xmp=PLACE)
    before = read(data)
    assert before.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    for kept in (prepared(data, "one").jpeg, small(prepared(data, "one").jpeg)):
        after = read(kept)
        assert dict(after.getexif()) == {}
        assert not after.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        assert set(after.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
        assert not any(word in kept for word in (b"Exif", b"GPS", MAKER.encode(), b"52.246", b"xmpmeta", b"http"))
    assert any(word in data for word in (b"Exif", MAKER.encode(), b"52.246", b"xmpmeta"))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_it_stands_upright(kind: str) -> None:
    """A picture is turned as its camera says: what was on the left of one turned by 6 is at its top."""
    kept = prepared(written(drawn(), kind, exif=noted(TURNED)), "one")
    assert (kept.width, kept.height) == (40, 60)
    image = read(kept.jpeg)
    top, bottom = image.getpixel((20, 8)), image.getpixel((20, 52))
    assert top[0] > 180
    assert top[2] < 80
    assert bottom[2] > 180
    assert bottom[0] < 80


def test_a_large_one_is_made_smaller() -> None:
    """The longer side is at most 2048 points and the shape stays; a small one is not blown up."""
    wide, high = prepared(written(drawn(4000, 3000)), "a"), prepared(written(drawn(1000, 5000), "PNG"), "b")
    assert (wide.width, wide.height) == (2048, 1536)
    assert (high.width, high.height) in {(409, 2048), (410, 2048)}
    assert read(small(wide.jpeg)).size == (400, 300)
    assert prepared(written(drawn(60, 40)), "c").width == 60


def test_what_can_be_seen_through_is_white() -> None:
    """A picture with a clear part has white there, not black."""
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert read(prepared(written(clear, "PNG"), "one").jpeg).getpixel((20, 20)) == (255, 255, 255)


SVG = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><script>alert(1)</script></svg>"


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "the file is empty"),
        (b"Dear owner, all is well.", "no picture that can be read"),
        (SVG, "no picture that can be read"),
        (b"%PDF-1.7\n", "no picture that can be read"),
        (b"GIF89a" + bytes(20), "no picture that can be read"),
        (written(drawn(400, 300))[:1500], "cannot be read to its end"),
        (written(drawn(400, 300), "PNG")[:300], "cannot be read"),
        (heic(drawn(320, 240))[:-300], "no picture that can be read|cannot be read"),
        (written(drawn(), "BMP"), "no picture that can be read"),
        (b"\xff\xd8\xff" + bytes(40 << 20), "it has more than 25 MB, which is the most"),
    ],
    ids=["empty", "text", "svg", "pdf", "gif", "cut jpeg", "cut png", "cut heic", "bmp", "40 MB"],
)
def test_what_is_no_photograph_is_refused_in_words(data: bytes, reason: str) -> None:
    """Whatever is no whole photograph is refused by name, with the reason and what to do."""
    with pytest.raises(PhotoRefusedError, match=reason) as refused:
        prepared(data, "IMG_0042.jpg")
    assert "'IMG_0042.jpg'" in str(refused.value)
    assert "nothing was kept" in str(refused.value)


@pytest.mark.parametrize("side", [9_000, 12_000, 20_000])
def test_a_picture_that_would_fill_the_memory_is_refused_unread(side: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A small file that unpacks to more than 60 million points is refused before anything of it is unpacked."""
    bomb = written(Image.new("1", (side, side)), "PNG")
    assert len(bomb) < 100_000
    monkeypatch.setattr(photographs, "_plain", lambda found: pytest.fail("it was unpacked"))
    with pytest.raises(PhotoRefusedError, match="more than 60 million points"):
        prepared(bomb, "bomb.png")


@pytest.fixture
def yard(db: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    """A folder of its own for the pictures of one test."""
    from django.conf import settings

    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return tmp_path


def person(login: str) -> Person:
    return Person.objects.get(login=login)


def horse(place: int = 0) -> Horse:
    return Horse.objects.order_by("pk")[place]


def add(*data: bytes, of: Horse | None = None, by: str = "carer", **said: str) -> list[Entry]:
    sent = [Sent(f"{place}.jpg", io.BytesIO(one)) for place, one in enumerate(data)]
    return add_pictures(of or horse(), sent, said, person(by))


def files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_picture_lies_under_its_hash(yard: Path) -> None:
    """The file is named for the SHA-256 of its bytes; entry and row of the books name it, and only its owner reads."""
    (entry,) = add(jpeg(), text="Near fore, swollen")
    sha256 = entry.values["picture"]
    assert files(yard) == [yard / "photos" / sha256[:2] / f"{sha256}.jpg"]
    assert hashlib.sha256(file_of(sha256).read_bytes()).hexdigest() == sha256
    assert file_of(sha256).stat().st_mode & 0o077 == 0
    photo = Photo.objects.get()
    assert (photo.sha256, photo.width, photo.height, photo.size) == (sha256, 60, 40, file_of(sha256).stat().st_size)
    assert entry.values == {"picture": sha256, "text": "Near fore, swollen"}
    assert kind_of("picture").kept_as(entry.values).words() == "Photograph: Near fore, swollen"


def test_the_same_page_sent_twice_keeps_it_once(yard: Path) -> None:
    """Pressed twice, and with the same picture chosen twice, there is one entry and one file."""
    page, data = uuid4(), jpeg()
    first = add_pictures(
        horse(), [Sent("a", io.BytesIO(data)), Sent("b", io.BytesIO(data))], {}, person("carer"), page=page
    )
    again = add_pictures(horse(), [Sent("a", io.BytesIO(data))], {}, person("carer"), page=page)
    assert first == again
    assert (Entry.objects.filter(kind="picture").count(), Photo.objects.count(), len(files(yard))) == (1, 1, 1)
    add(data, of=horse(1))
    assert (Entry.objects.filter(kind="picture").count(), Photo.objects.count(), len(files(yard))) == (2, 1, 1)


@pytest.mark.parametrize("bad", [b"", b"words", SVG, written(drawn(400, 300))[:1500]])
def test_one_that_is_refused_leaves_nothing_of_the_others(yard: Path, bad: bytes) -> None:
    """Where one of several is no photograph, no file, no row and no entry is left of any."""
    with pytest.raises(PhotoRefusedError):
        add(jpeg(), bad)
    assert (files(yard), Photo.objects.count(), Entry.objects.filter(kind="picture").count()) == ([], 0, 0)


def test_an_entry_that_is_refused_leaves_no_file(yard: Path) -> None:
    """Where the diary refuses the words or the author, files just written go; one that another entry shows stays."""
    data = jpeg()
    with pytest.raises(EntryRefusedError, match="400"):
        add(data, text="x" * 500)
    with pytest.raises(NoDiaryError):
        add(data, by="owner")
    assert (files(yard), Photo.objects.count()) == ([], 0)
    add(data)
    with pytest.raises(NoDiaryError):
        add(data, jpeg(), by="owner")
    assert (len(files(yard)), Photo.objects.count()) == (1, 1)


def test_none_and_too_many_are_refused(yard: Path) -> None:
    """No file at all, and more than twelve, are refused before any is read."""
    with pytest.raises(NoPhotoError):
        add()
    with pytest.raises(TooManyPhotosError, match="13 pictures at once: 12 is the most"):
        add(*[b"x"] * (MOST + 1))


def test_a_name_that_is_no_hash_is_refused(db: None) -> None:
    """An entry cannot name a file but by a hash, so that no name leads out of the folder."""
    for name in ("../../secret.key", "a" * 63, "A" * 64, ""):
        with pytest.raises(EntryRefusedError):
            kind_of("picture").parse({"picture": name})


def test_owners_see_what_may_be_shown_to_them(yard: Path) -> None:
    """An owner sees his own horse's pictures that were ticked, until they are withdrawn; the yard's people see all."""
    owner, other, staff = (visitor(person(login), barn=False) for login in ("owner", "owner2", "rider"))
    (shut,) = add(jpeg(), text="A wound")
    (shown,) = add(jpeg(), text="Out in the sun", for_owner="1")
    sha256 = {entry.pk: entry.values["picture"] for entry in (shut, shown)}

    def seen(who: object) -> tuple[list[str], bool, bool]:
        listed = [one.text for one in pictures_of(horse().pk, moments.now(), who)]
        return listed, may_see_photo(who, sha256[shut.pk]), may_see_photo(who, sha256[shown.pk])

    assert seen(staff) == (["Out in the sun", "A wound"], True, True)
    assert seen(owner) == (["Out in the sun"], False, True)
    assert seen(other) == ([], False, False)
    then = moments.as_of(shown.recorded_at)
    withdraw(shown, person("carer"), client_id=uuid4(), made_at=shown.made_at)
    assert seen(owner) == ([], False, False)
    assert pictures_of(horse().pk, then, owner) == []
    assert seen(staff) == (["A wound"], True, True)
    assert not may_see_photo(staff, "0" * 64)


def test_a_small_picture_is_made_once(yard: Path) -> None:
    """The small picture is made when it is asked for first, and then lies there."""
    (entry,) = add(jpeg(1200, 800))
    path = small_picture(entry.values["picture"])
    assert read(path.read_bytes()).size == (400, 267)
    made = path.stat()
    assert small_picture(entry.values["picture"]).stat().st_mtime_ns == made.st_mtime_ns
    with pytest.raises(FileNotFoundError):
        small_picture("0" * 64)


KEEP = """
from PIL import Image
import io
from upsides.books.services.photos import add_pictures, small_picture
from upsides.books.sent import Sent
out = io.BytesIO()
Image.new("RGB", (900, 600), "olive").save(out, "JPEG")
(entry,) = add_pictures(horses[0], [Sent("a.jpg", io.BytesIO(out.getvalue()))], {"text": "Coat"}, trainer)
small_picture(entry.values["picture"])
from upsides.books.keeping import back_up
back_up(Path(folder), Path(sys.argv[1]))
said = entry.values["picture"]
"""
BRING = "from pathlib import Path\nfrom upsides.books.keeping import restore\nrestore(Path(FILE), Path(TO))\nsaid = 1"
CHECK = """
from upsides.books.keeping import check_books
said = [[one.well, one.words] for one in check_books(Path(folder)) if one.subject == "photos"]
"""


def test_a_backup_carries_them_and_a_check_misses_them(tmp_path: Path) -> None:
    """Restored elsewhere the picture is the same to the byte; a check says which one was changed or is gone."""
    kept = SimpleNamespace(yard=tmp_path / "yard", file=tmp_path / "one.zip", back=tmp_path / "back")
    with fresh(kept.yard, ready=True) as env:
        sha256 = opened(
            kept.yard, env, f"import sys\n{SMALL_BOOKS}\nmodels.Photo.objects.all().delete()\n{KEEP}", kept.file
        )
    with fresh(kept.back) as env:
        told(f"FILE, TO = {str(kept.file)!r}, {str(kept.back)!r}\n{BRING}", env)
        path = file_of(sha256, kept.back)
        assert path.read_bytes() == file_of(sha256, kept.yard).read_bytes()
        assert (kept.yard / "photos-small").exists()
        assert not (kept.back / "photos-small").exists()
        ((well, words),) = opened(kept.back, env, CHECK)
        assert well
        assert "there is one" in words
        path.write_bytes(path.read_bytes() + b"x")
        ((well, words),) = opened(kept.back, env, CHECK)
        assert (well, f"{path} was changed since it was kept" in words) == (False, True)
        path.unlink()
        ((well, words),) = opened(kept.back, env, CHECK)
        assert (well, f"{path} is not there" in words) == (False, True)
