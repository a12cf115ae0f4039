"""A backup that was cut off, altered, made by others or crafted to do harm is refused before anything is written."""

import json
import zlib
from collections import deque
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from random import Random
from zipfile import ZipFile, ZipInfo

import pytest

from fresh import SMALL_BOOKS, fresh, opened, told
from upsides.books.keeping.members import FORMAT, MANIFEST, Manifest, Reader, Table, Writer
from upsides.errors import BackupDamagedError, BackupNewerError, UpsidesError

EMPTY = Manifest("2026-06-01T05:30:00+00:00", "0.1.0", "Quarr Down", "sqlite", {}, {"a.b": Table(2, 2)}, library=True)
REFUSED = """
from pathlib import Path
from upsides.books.keeping import restore
from upsides.errors import UpsidesError
try:
    restore(Path(FILE), Path(TO))
    said = None
except UpsidesError as error:
    said = [type(error).__name__, str(error)]
"""


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """A small whole backup: one table of two rows, three files."""
    file = tmp_path / "good.zip"
    with file.open("wb") as out:
        writer = Writer(out)
        writer.add("books/a.b.jsonl", [b'{"id":1}\n', b'{"id":2}\n'])
        writer.add("library/rules.toml", [b"# mine\n" * 50])
        writer.add("library/secret.key", [b"k" * 60])
        writer.add("library/runs/part.parquet", [bytes(range(256)) * 8])
        writer.finish(EMPTY)
    return file


def read(file: Path) -> None:
    """Read every part to its end."""
    with Reader(file) as backup:
        for name in backup.manifest.members:
            deque(backup.blocks(name), maxlen=0)


def rewritten(good: Path, change: Callable[[dict[str, bytes]], object]) -> Path:
    """Return a copy of a backup whose parts were changed by somebody who knows how to write a ZIP."""
    with ZipFile(good) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    file = good.with_name("changed.zip")
    with ZipFile(file, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return file


def listed(parts: dict[str, bytes], **changes: object) -> None:
    """Change what the manifest says."""
    parts[MANIFEST] = json.dumps(json.loads(parts[MANIFEST]) | changes).encode()


def smuggle(name: str, content: bytes = b"x") -> Callable[[dict[str, bytes]], object]:
    """Return a change that adds a part and lists it with its right size and hash."""
    from hashlib import sha256

    def change(parts: dict[str, bytes]) -> None:
        parts[name] = content
        members = json.loads(parts[MANIFEST])["members"]
        listed(parts, members=members | {name: {"bytes": len(content), "sha256": sha256(content).hexdigest()}})

    return change


def test_a_whole_one_is_read(good: Path) -> None:
    """The manifest and every part come back as they were written."""
    read(good)
    with Reader(good) as backup:
        assert list(backup.lines("books/a.b.jsonl")) == [b'{"id":1}\n', b'{"id":2}\n']
        assert backup.manifest == replace(EMPTY, members=backup.manifest.members)


def test_one_that_was_cut_off_is_refused(good: Path) -> None:
    """However much of its end is missing, it is refused."""
    whole = good.read_bytes()
    for length in range(0, len(whole), 7):
        good.write_bytes(whole[:length])
        with pytest.raises(BackupDamagedError, match=r"good\.zip cannot be restored"):
            read(good)


def test_altered_bytes_are_found(good: Path) -> None:
    """Whatever byte is altered, either it is refused in our words, or every part is still as it was written."""
    whole, dice, refused = good.read_bytes(), Random(17), 0  # noqa: S311 (no secret)
    places = [dice.randrange(len(whole)) for _ in range(600)]
    for place in places:
        good.write_bytes(whole[:place] + bytes([whole[place] ^ (1 << dice.randrange(8))]) + whole[place + 1 :])
        try:
            read(good)
        except UpsidesError:
            refused += 1
    assert refused > len(places) / 2


def test_an_altered_part_is_named(good: Path) -> None:
    """A part whose content is not what the manifest says is named."""
    file = rewritten(good, lambda parts: parts.update({"library/rules.toml": b"# YOURS\n" * 50}))
    with pytest.raises(BackupDamagedError, match=r"in its part library/rules\.toml: its size"):
        read(file)
    file = rewritten(good, lambda parts: parts.update({"library/rules.toml": b"# ours\n" * 50}))
    with pytest.raises(BackupDamagedError, match=r"in its part library/rules\.toml: it is not as it was written"):
        read(file)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda parts: parts.pop(MANIFEST), "has no manifest"),
        (lambda parts: parts.pop("library/secret.key"), "secret.key: it is missing"),
        (lambda parts: parts.update({"library/more": b"x"}), "library/more: it is not in the manifest"),
        (lambda parts: parts.update({MANIFEST: b"{"}), "manifest.json: it cannot be read"),
        (lambda parts: parts.update({MANIFEST: b"[]"}), "does not say which format"),
        (lambda parts: listed(parts, format="1"), "does not say which format"),
        (lambda parts: listed(parts, tables={"a.b": {"rows": "many"}}), "missing or wrong"),
        (lambda parts: listed(parts, members=[]), "missing or wrong"),
        (lambda parts: listed(parts, tables={"a.b": asdict(Table(2, 2)), "a.c": asdict(Table(0, 0))}), "a.c.jsonl"),
    ],
)
def test_parts_and_manifest_belong_together(good: Path, change: Callable[..., object], words: str) -> None:
    """What is missing, what is too much, and a manifest that says something else are refused in words."""
    with pytest.raises(BackupDamagedError, match=words):
        read(rewritten(good, change))


@pytest.mark.parametrize(
    "name",
    [
        "library/../../evil",
        "library/a/../../../evil",
        "/etc/evil",
        "../evil",
        "library//etc/evil",
        "library/./evil",
        "library/a\\..\\..\\evil",
        "library/C:evil",
        "other/evil",
        "library/",
        "evil",
    ],
)
def test_no_part_leads_out_of_the_folder(good: Path, name: str) -> None:
    """A part whose name leads elsewhere is refused, though the manifest lists it with the right hash."""
    with pytest.raises(BackupDamagedError, match="leads out of the folder"):
        read(rewritten(good, smuggle(name)))


def test_no_part_is_a_link(good: Path) -> None:
    """A part that is a symbolic link is refused, though the manifest lists it."""
    content = b"/etc/passwd"
    file = rewritten(good, smuggle("library/link", content))
    with ZipFile(file) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with ZipFile(file, "w") as archive:
        for name, part in parts.items():
            info = ZipInfo(name)
            info.external_attr = (0o120777 if name == "library/link" else 0o100600) << 16
            archive.writestr(info, part)
    with pytest.raises(BackupDamagedError, match="library/link: it is a link"):
        read(file)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_no_part_is_there_twice(good: Path) -> None:
    """A part that is there twice, the second one another, is refused."""
    with ZipFile(good, "a") as archive:
        archive.writestr("library/rules.toml", b"other")
    with pytest.raises(BackupDamagedError, match="holds a part twice"):
        read(good)


def test_a_part_that_unpacks_to_more_is_refused(good: Path) -> None:
    """A part is never unpacked beyond the size that the manifest gives it."""
    packed = zlib.compress(b"0" * 10_000_000)
    assert len(packed) < 20_000
    with pytest.raises(BackupDamagedError, match="its size is not that of the manifest"):
        read(rewritten(good, lambda parts: parts.update({"library/rules.toml": b"0" * 10_000_000})))


def test_a_newer_one_is_refused_plainly(good: Path) -> None:
    """A format of the future is told from damage."""
    with pytest.raises(BackupNewerError, match=f"its format is {FORMAT + 1}, and this program reads {FORMAT}"):
        read(rewritten(good, lambda parts: listed(parts, format=FORMAT + 1)))


def test_other_files_are_refused(tmp_path: Path) -> None:
    """A text, an empty file and somebody's photos are no backups, and the file is named."""
    (tmp_path / "a.txt").write_text("words " * 1000)
    (tmp_path / "b.zip").write_bytes(b"")
    with ZipFile(tmp_path / "c.zip", "w") as archive:
        archive.writestr("photo.jpg", b"x")
    for name in ("a.txt", "b.zip", "c.zip"):
        with pytest.raises(BackupDamagedError, match=rf"{name} cannot be restored.*no backup"):
            read(tmp_path / name)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of small books."""
    folder = tmp_path_factory.mktemp("small") / "library"
    folder.mkdir()
    file = folder.parent / "small.zip"
    code = f"from upsides.books.keeping import back_up\nback_up(Path({str(folder)!r}), Path({str(file)!r}))"
    with fresh(folder, ready=True) as env:
        opened(folder, env, f"{SMALL_BOOKS}\n{code}")
    return file


def refusal(file: Path, to: Path) -> tuple[str, str]:
    """Return how a restore is refused; it must leave the folder, its neighbours and the database as they were."""
    before = sorted(to.parent.iterdir())
    with fresh(to) as env:
        kind, words = told(f"FILE, TO = {str(file)!r}, {str(to)!r}\n{REFUSED}", env)
        if "UPSIDES_DATABASE" in env:
            import psycopg

            with psycopg.connect(env["UPSIDES_DATABASE"]) as server:
                tables = server.execute("SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").fetchone()
            assert tables == (0,)
    assert sorted(to.parent.iterdir()) == before
    return kind, words


def test_a_folder_in_use_is_not_touched(small: Path, tmp_path: Path) -> None:
    """A folder that holds anything, or is a file, is refused and stays as it is."""
    used, file = tmp_path / "used", tmp_path / "file"
    used.mkdir()
    (used / "mine").write_text("kept")
    file.write_text("kept")
    assert refusal(small, used) == (
        "RestorePlaceError",
        f"nothing was restored into {used}: it is not empty; name a new folder, or an empty one",
    )
    assert refusal(small, file)[0] == "RestorePlaceError"
    assert (used / "mine").read_text() == file.read_text() == "kept"


@pytest.mark.parametrize(
    ("table", "change", "kind", "words"),
    [
        ("books.horse", lambda rows: [row | {"sex": "dog"} for row in rows], "RestoreDiffersError", "books.horse"),
        ("books.horse", lambda rows: [row | {"more": 1} for row in rows], "BackupDamagedError", "columns"),
        ("books.entry", lambda rows: [row | {"made_at": "soon"} for row in rows], "BackupDamagedError", "books.entry"),
        ("books.share", lambda rows: [row | {"horse_id": 999} for row in rows], "RestoreDiffersError", "name"),
        ("books.post", lambda rows: rows[:-1], "RestoreDiffersError", "rows of"),
    ],
)
def test_rows_that_cannot_be_leave_nothing(
    small: Path, tmp_path: Path, table: str, change: Callable[..., list[dict[str, object]]], kind: str, words: str
) -> None:
    """A backup that is sound as a file, but whose rows cannot be or are too few, leaves nothing behind."""
    part = f"books/{table}.jsonl"

    def alter(parts: dict[str, bytes]) -> None:
        rows = change([json.loads(line) for line in parts[part].splitlines()])
        lines = (json.dumps(row, sort_keys=True, separators=(",", ":")) for row in rows)
        smuggle(part, b"".join(line.encode() + b"\n" for line in lines))(parts)

    with ZipFile(small) as archive:
        (tmp_path / "small.zip").write_bytes(small.read_bytes())
        assert part in archive.namelist()
    found = refusal(rewritten(tmp_path / "small.zip", alter), tmp_path / "new")
    assert found[0] == kind
    assert words in found[1]


def test_changes_of_a_newer_program_are_refused(small: Path, tmp_path: Path) -> None:
    """A backup whose tables saw a change that this program does not know is refused, and nothing is left."""
    (tmp_path / "small.zip").write_bytes(small.read_bytes())

    def alter(parts: dict[str, bytes]) -> None:
        made = json.loads(parts[MANIFEST])["migrations"]
        listed(parts, migrations=made | {"books": [*made["books"], "9999_of_tomorrow"]})

    kind, words = refusal(rewritten(tmp_path / "small.zip", alter), tmp_path / "new")
    assert kind == "BackupNewerError"
    assert "books 9999_of_tomorrow" in words


def test_a_backup_of_earlier_tables_comes_forward(tmp_path: Path) -> None:
    """Books that were backed up before a change to their tables are laid as they were, filled, and then changed."""
    folder, file, new = tmp_path / "library", tmp_path / "old.zip", tmp_path / "new"
    folder.mkdir()
    before = f"""
from pathlib import Path
from upsides.books.services.opening import connect_books
connect_books(Path({str(folder)!r}))
from django.core.management import call_command
from django.db import connection
call_command("migrate", "books", "0002", verbosity=0)
with connection.cursor() as cursor:
    cursor.execute("INSERT INTO books_horse (horse_key, name, foaled, sex, sire, dam, joined, barn) "
                   "VALUES ('x:1', 'Early', 2020, 'mare', '', '', '2024-01-01', '')")
from upsides.books.keeping import back_up
said = back_up(Path({str(folder)!r}), Path({str(file)!r})).tables["books.historicalhorse"]
"""
    after = "from upsides.books.models import Horse\nsaid = [Horse.history.count(), Horse.objects.get().name]"
    with fresh(folder) as env:
        assert told(before, env) == 0
    with fresh(new) as env:
        told(f"FILE, TO = {str(file)!r}, {str(new)!r}\n{REFUSED}", env)
        assert opened(new, env, after) == [1, "Early"]
