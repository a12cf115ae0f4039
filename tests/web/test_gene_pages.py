"""Gene tests on pages: entered, read back, asked about."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client

import trip_yard
import worlds
from upsides.books.models import Entry, Horse
from worlds import ClientAs


@pytest.fixture
def trainer(with_trips: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def horse(with_trips: worlds.Yard) -> Horse:
    """The horse of the yard that has run most often."""
    return trip_yard.runner(with_trips)


def read(client: Client, horse: Horse, query: str = "", **headers: str) -> str:
    answer = client.get(f"/horse/{horse.pk}/trip/{query}", headers=headers)
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def typed(**values: str) -> dict[str, str]:
    usual = {"client_id": str(uuid4()), "whom": "horse", "site": "snp", "genotype": "C/T", "laboratory": ""}
    return usual | values


def test_a_gene_test_is_entered_and_read_back(trainer: Client, with_trips: worlds.Yard, horse: Horse) -> None:
    """What the letter says goes into the diary, stands on the page, and becomes a piece of the answer."""
    address = f"/horse/{horse.pk}/gene/"
    assert f"Neither {horse.name} nor a parent of it was tested." in unescape(trainer.get(address).content.decode())
    sent = trainer.post(
        address, typed(whom="sire", site="insertion", genotype="C/C", laboratory="Moor Lab"), follow=True
    )
    page = unescape(sent.content.decode())
    assert Entry.objects.get(kind="gene_test").values == {
        "whom": "sire", "site": "insertion", "genotype": "C/C", "laboratory": "Moor Lab",
    }  # fmt: skip
    assert f"Its sire, {horse.sire}" in page
    assert "C/C, by the insertion in the promoter; Moor Lab" in page
    assert re.search(r'value="gene" checked', read(trainer, horse))


def test_tests_that_disagree_are_asked_about(trainer: Client, with_trips: worlds.Yard, horse: Horse) -> None:
    """Two tests of one animal that say different things stand as a question on both pages."""
    for genotype in ("C/C", "T/T"):
        assert trainer.post(f"/horse/{horse.pk}/gene/", typed(genotype=genotype)).status_code == 302
    for page in (unescape(trainer.get(f"/horse/{horse.pk}/gene/").content.decode()), read(trainer, horse)):
        assert "Which is right? These tests disagree (C/C, T/T)." in page


def test_pressing_twice_enters_one_test(trainer: Client, with_trips: worlds.Yard, horse: Horse) -> None:
    """The form carries a number, so that the same form sent again is the same entry; without a finding none is made."""
    page = trainer.get(f"/horse/{horse.pk}/gene/").content.decode()
    number = re.search(r'name="client_id" value="([^"]+)"', page)[1]
    for _ in range(2):
        assert trainer.post(f"/horse/{horse.pk}/gene/", typed(client_id=number)).status_code == 302
    assert trainer.post(f"/horse/{horse.pk}/gene/", typed(client_id=number, genotype="")).status_code == 400
    assert trainer.post(f"/horse/{horse.pk}/gene/", typed(client_id=number, genotype="T/T")).status_code == 400
    assert Entry.objects.filter(kind="gene_test").count() == 1


def test_a_parent_without_a_name_cannot_be_tested(trainer: Client, with_trips: worlds.Yard, horse: Horse) -> None:
    """Where the dam is not entered there is nobody whose test that could be."""
    Horse.objects.filter(pk=horse.pk).update(dam="")
    assert 'value="dam"' not in trainer.get(f"/horse/{horse.pk}/gene/").content.decode()
    assert trainer.post(f"/horse/{horse.pk}/gene/", typed(whom="dam")).status_code == 400
    assert not Entry.objects.filter(kind="gene_test").exists()


def test_the_diary_tells_it_and_leaves_entering_to_its_page(
    trainer: Client, with_trips: worlds.Yard, horse: Horse, client_as: ClientAs
) -> None:
    """The diary's own form does not offer it, reads it back, and lets it be withdrawn."""
    trainer.post(f"/horse/{horse.pk}/gene/", typed())
    entry = Entry.objects.get(kind="gene_test")
    assert 'value="gene_test"' not in trainer.get("/diary/").content.decode()
    page = trainer.get(f"/diary/{entry.pk}/").content.decode()
    assert "Gene test of the horse itself: C/T at the single letter g.66493737." in page
    assert 'name="withdraw"' in page
    assert client_as("carer").get(f"/horse/{horse.pk}/gene/").status_code == 403
