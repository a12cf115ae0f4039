"""Recordings through backups, checks and a worker's death; keys by which devices send them."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import given_recordings as given
from desk import Desk, desk, until
from upsides.books.models import Device, Person
from upsides.books.queries import moments
from upsides.books.queries.devices import barn_phones, upload_keys
from upsides.books.services.devices import add_shared, add_upload_key, device_of, key_of, revoke
from upsides.errors import UploadKeyNamelessError

FILES = 6

GIVEN = """
import io, sys
from pathlib import Path
from upsides.books.models import Horse, Outing, Recorded, Yard
from upsides.books.queries import moments
from upsides.books.services.outings import give
from upsides.books.services.people import add_person
from upsides.books.services.recordings import receive
from upsides.books.sent import Sent
import given_recordings as given
def send(count):
    return receive([Sent(f"f{k}.fit", io.BytesIO(given.fit(serial=str(100 + k)))) for k in range(count)]).pk
"""


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Desk]:
    """Books of their own, in which recordings can be sent."""
    ways = (str(Path(given.__file__).resolve().parent), os.environ.get("PYTHONPATH", ""))
    with desk(tmp_path / "library", PYTHONPATH=os.pathsep.join(filter(None, ways))) as found:
        found.say(GIVEN)
        yield found


def worker(books: Desk) -> "subprocess.Popen[str]":
    command = [sys.executable, "-c", "from upsides.cli.main import main; main()", "jobs", "--library", books.folder]
    return subprocess.Popen(command, env=books.env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, text=True)


def files(folder: Path) -> list[str]:
    found = (path for name in ("recordings", "tracks") for path in (folder / name).rglob("*") if path.is_file())
    return sorted(path.name for path in found)


def test_a_killed_worker_goes_on(opened: Desk) -> None:
    """A worker that is killed among the files leaves nothing half-written, and the next one reads the rest."""
    number = opened.say(f"said = send({FILES})")
    with worker(opened) as first:
        until(lambda: opened.say("said = Recorded.objects.count()"))
        first.send_signal(signal.SIGKILL)
    assert opened.job(number)["state"] == "running"
    opened.say(f"Job.objects.filter(pk={number}).update(heartbeat_at=Now() - timedelta(seconds=60))")
    with worker(opened) as second:
        done = opened.until(number, "done", "failed")
        second.terminate()
    assert done["state"] == "done", done["failure"]
    assert opened.say("said = Recorded.objects.count()") == FILES
    counts = done["result"]
    assert (counts["read"] + counts["already"], counts["refused"]) == (FILES, 0)
    kept = files(opened.folder)
    assert sum(name.endswith(".gz") for name in kept) == FILES
    assert sum(name.endswith(".parquet") for name in kept) == FILES


def test_backup_restore_and_check(opened: Desk, tmp_path: Path) -> None:
    """Originals come back from a backup byte for byte, tracks are left out of it, and a lost original is found."""
    number = opened.say("said = send(2)")
    with worker(opened) as process:
        opened.until(number, "done")
        process.terminate()

    def upsides(*arguments: object) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", "from upsides.cli.main import main; main()", *map(str, arguments)]
        env = {name: value for name, value in opened.env.items() if name != "UPSIDES_LIBRARY"}
        return subprocess.run(command, env=env, capture_output=True, text=True, check=False)

    if "UPSIDES_DATABASE" in opened.env:
        pytest.skip("the books stand in one database here, and a restore needs another")
    made = upsides("backup", "--to", tmp_path / "a.zip", "--library", opened.folder)
    assert made.returncode == 0, made.stderr
    back = tmp_path / "back"
    assert upsides("restore", tmp_path / "a.zip", "--library", back).returncode == 0
    names = [name for name in files(opened.folder) if name.endswith(".gz")]
    assert files(back) == names
    for path in back.glob("recordings/*/*.gz"):
        assert path.read_bytes() == (opened.folder / path.relative_to(back)).read_bytes()
    assert "Every file of a recording is there" in upsides("check", "--library", back).stdout
    lost = next(back.glob("recordings/*/*.gz"))
    lost.write_bytes(b"")
    found = upsides("check", "--library", back)
    assert found.returncode == 1
    assert lost.name in found.stdout


@pytest.mark.django_db
def test_a_key_sends_and_does_nothing_else(trainer: Person) -> None:
    """A key for recordings is known by itself until it is ended, and lets no browser in; a phone's token is no key."""
    device, token = add_upload_key(" Tracker hub ", trainer)
    assert token.startswith("upload-")
    assert token not in device.token_hash
    assert key_of(token) == device
    assert device_of(token) is None
    phone, other = add_shared("Top barn", trainer)
    assert (key_of(other), key_of(""), key_of("upload-")) == (None, None, None)
    assert [one.name for one in upload_keys(moments.now())] == ["Tracker hub"]
    assert phone.pk in {one.number for one in barn_phones(moments.now())}
    assert device.pk not in {one.number for one in barn_phones(moments.now())}
    revoke(device)
    assert key_of(token) is None
    assert upload_keys(moments.now()) == []


@pytest.mark.django_db
def test_a_key_has_a_name(trainer: Person) -> None:
    """A key without a name is refused, for nobody would know what to end."""
    before: Any = Device.objects.count()
    with pytest.raises(UploadKeyNamelessError):
        add_upload_key(" ", trainer)
    assert Device.objects.count() == before
