"""The yard's own tables: taken in, by jobs too, and undone."""

import csv
import io
from datetime import date, datetime, time
from typing import Any
from uuid import uuid4

import pytest

import worlds
from given_tables import LONDON, Give, days_ago, faults, long_table, masses, standing, taken
from upsides.books import clock
from upsides.books.intake.checking import check, left_out
from upsides.books.intake.proposing import Chosen, missing
from upsides.books.jobs.running import Seat, run
from upsides.books.models import Entry, Gallop, Horse, Intake, Job, Person, Share, Taken
from upsides.books.services import intakes, jobs
from upsides.books.services.diary import correct
from upsides.books.services.intakes import begin, may_undo, take, undo
from upsides.errors import (
    ColumnsError,
    EntryNotYoursError,
    ImportBusyError,
    ImportUndoneError,
    NothingToTakeError,
)

pytestmark = pytest.mark.django_db


def test_rows_are_taken_with_their_author_and_their_own_time(give: Give, names: list[str], trainer: Person) -> None:
    """What is fine is written through the diary in the importer's name, when it was so, and what is not is left."""
    text = masses(names[:2]) + f"Nobody,{days_ago(1)},480\n"
    intake, counts = taken(give(text), trainer)
    assert (counts.rows, counts.taken, counts.refused) == (3, 2, 1)
    entry = standing("mass")[0]
    assert (entry.author, entry.horse.name, entry.values) == (trainer, names[0], {"kg": 480.0})
    assert entry.happened_at == datetime.combine(days_ago(1), time(12), LONDON)
    assert entry.made_at == intake.at
    assert list(Taken.objects.values_list("line", flat=True)) == [2, 3]
    assert intake.columns["told"]["taken"] == 2
    assert intake.columns["told"]["wrong"][0]["line"] == 4


def test_the_same_again_doubles_nothing(give: Give, names: list[str], trainer: Person) -> None:
    """The same file, another with the same rows, and a row that comes twice in one are counted and not doubled."""
    text = masses(names[:3])
    taken(give(text + text.splitlines()[1] + "\n"), trainer)
    assert len(standing("mass")) == 3
    with pytest.raises(NothingToTakeError, match="3 are in the books already"):
        begin(give(text), give(text).proposed, trainer, check(give(text), give(text).proposed))
    other = give(text.replace("Weight (kg)", "Mass") + f"{names[4]},{days_ago(9)},500\n")
    counts = check(other, other.proposed)
    assert (counts.taken, counts.already, counts.refused) == (1, 3, 0)
    taken(other, trainer)
    assert len(standing("mass")) == 4


def test_taking_twice_is_taking_once(give: Give, names: list[str], trainer: Person) -> None:
    """The work done again on the same import writes nothing more, and counts the same."""
    intake, first = taken(give(masses(names)), trainer)
    before = list(Entry.objects.values_list("client_id", flat=True))
    again = take(intake, worlds.yard().library)
    assert list(Entry.objects.values_list("client_id", flat=True)) == before
    assert (again.taken, again.already) == (first.taken, first.already) == (6, 0)
    assert Taken.objects.count() == 6


def test_undoing_withdraws_and_stays_to_be_seen(give: Give, names: list[str], trainer: Person) -> None:
    """Undone, nothing of an import stands, every row and its withdrawal are still there, and it is noted when."""
    intake, _ = taken(give(masses(names)), trainer)
    done = undo(intake, trainer)
    assert (done.withdrawn, done.kept) == (6, 0)
    assert standing("mass") == []
    assert (Entry.objects.count(), Entry.objects.filter(withdrawn=True).count()) == (12, 6)
    intake.refresh_from_db()
    assert intake.undone_at is not None
    assert intake.columns["undone"]["by"] == trainer.pk
    assert [row.undone_at is None for row in intake.history.order_by("history_id")] == [True, True, False]
    with pytest.raises(ImportUndoneError):
        may_undo(intake, trainer)
    with pytest.raises(ImportUndoneError):
        take(intake, worlds.yard().library)


def test_an_undone_table_can_be_taken_in_again(give: Give, names: list[str], trainer: Person) -> None:
    """After undoing, the same file brings all its entries again, as new ones."""
    intake, _ = taken(give(masses(names)), trainer)
    undo(intake, trainer)
    _, counts = taken(give(masses(names)), trainer)
    assert counts.taken == len(standing("mass")) == 6


def test_what_was_corrected_since_is_not_undone(give: Give, names: list[str], trainer: Person) -> None:
    """An entry that somebody corrected stays as corrected when its import is undone, and is named with its line."""
    intake, _ = taken(give(masses(names[:2])), trainer)
    entry = standing("mass")[0]
    correct(entry, {"kg": "490"}, trainer, client_id=uuid4(), made_at=clock.now())
    done = undo(intake, trainer)
    assert (done.withdrawn, done.kept) == (1, 1)
    assert done.left == ["line 2: the entry was corrected since; withdraw the correction in the diary"]
    assert [one.values["kg"] for one in standing("mass")] == [490]


def test_who_may_undo(give: Give, names: list[str], trainer: Person) -> None:
    """A secretary undoes own imports only; those who may correct others' entries undo any."""
    secretary = Person.objects.get(login="secretary")
    intake, _ = taken(give(masses(names)), trainer)
    with pytest.raises(EntryNotYoursError):
        may_undo(intake, secretary)
    may_undo(intake, Person.objects.get(login="assistant"))


def test_treatments_take_words_of_the_trade(give: Give, names: list[str], trainer: Person) -> None:
    """Routes as vets write them are known, people by name, and what no column says can be said of every row."""
    vet = Person.objects.get(login="vet")
    text = (
        "Horse,Date,Time,Medicine,Dose,Route,Why,Prescribed by,Withdrawal days\n"
        f"{names[0]},{days_ago(2)},07:30,Example Paste,10 ml,i/v,cough,{vet.name},8\n"
        f"{names[1]},{days_ago(2)},,Example Paste,10 ml,by mouth,cough,,\n"
        f"{names[2]},{days_ago(2)},,Example Paste,10 ml,oral,cough,Nobody Known,\n"
    )
    one = give(text, "treatments")
    assert [column.name for column in missing(one.proposed, one.spec)] == ["what"]
    with pytest.raises(ColumnsError, match="What kind"):
        begin(one, one.proposed, trainer)
    chosen = Chosen(one.proposed.columns, {"what": "other"}, one.proposed.order)
    assert faults(one, chosen) == [(4, "Prescribed by", "it is no name of a person (vet) in the books")]
    taken(one, trainer, chosen)
    first, second = standing("treatment")
    assert first.values == {
        "product": "Example Paste", "quantity": "10 ml", "route": "iv", "what": "other", "reason": "cough",
        "prescriber": vet.pk, "withdrawal_days": 8.0,
    }  # fmt: skip
    assert first.happened_at.astimezone(LONDON).time() == time(7, 30)
    assert second.values["route"] == "oral"


def test_one_injection_against_two_diseases_is_two_entries(give: Give, names: list[str], trainer: Person) -> None:
    """A vaccination "Flu/Tet" is one against influenza and one against tetanus, each of them once."""
    text = f"Horse,Date,Vaccine,Against\n{names[0]},{days_ago(5)},Example,Flu/Tet\n{names[1]},{days_ago(5)},Example,x\n"
    one = give(text, "vaccinations")
    assert [(line, column) for line, column, _ in faults(one)] == [(3, "Against")]
    intake, counts = taken(one, trainer)
    assert counts.taken == 2
    assert [entry.values["disease"] for entry in standing("vaccination")] == ["influenza", "tetanus"]
    assert list(intake.rows.values_list("line", flat=True)) == [2, 2]


def test_columns_of_a_laboratory_are_results(give: Give, names: list[str], trainer: Person) -> None:
    """Every column of numbers of a table of bloods is a result, its unit in brackets; what is empty is not measured."""
    rows = [f"{names[0]},{days_ago(5)},Moor,42.5,<5,", f"{names[1]},{days_ago(5)},Moor,,7,"]
    one = give("\n".join(["Horse,Sampled,Lab,PCV (%),SAA (mg/l),Notes", *rows]), "bloods")
    assert one.proposed.results == ("PCV (%)", "SAA (mg/l)")
    taken(one, trainer)
    first, second = standing("bloods")
    assert first.values["results"] == [
        {"name": "PCV", "value": 42.5, "unit": "%"},
        {"name": "SAA", "value": 5.0, "unit": "mg/l", "bound": "<"},
    ]
    assert second.values["results"] == [{"name": "SAA", "value": 7.0, "unit": "mg/l"}]


def test_exercise_names_gallops_and_companions(give: Give, names: list[str], trainer: Person) -> None:
    """Work is read with its gallop, its distance in the unit written, and the horses that it went upsides with."""
    gallop = Gallop.objects.create(name="Long Hill", surface="turf")
    row = f"{names[0]},{days_ago(1)},half speed,long hill,1400 m,{names[1]} & {names[2]}"
    taken(give(f"Horse,Date,Work,Gallop,Distance,With\n{row}\n", "exercise"), trainer)
    (entry,) = standing("exercise")
    others = list(Horse.objects.filter(name__in=names[1:3]).order_by("pk").values_list("pk", flat=True))
    assert entry.values["exercise"] == "half_speed"
    assert entry.values["gallop"] == gallop.pk
    assert entry.values["furlongs"] == pytest.approx(1400 / 201.168, abs=0.005)
    assert sorted(entry.values["upsides"]) == others


def test_horses_come_in_whole_and_go_where_nothing_refers_to_them(
    give: Give, loaded: worlds.Yard, trainer: Person
) -> None:
    """Horses are entered with what the table says; undone, one with a share stays and is named, the other goes."""
    known = Horse.objects.order_by("pk")[0]
    text = (
        "Name,Date of birth,Sex,Sire,Dam,Microchip,Arrived\n"
        "Quillmoor Test,12/03/2023,f,Alder,Sedge,985 100 012 345 678,1/2/2026\n"
        "Fenmoor Test,2/4/2022,g,Alder,Rush,,1/2/2026\n"
        f"{known.name},1/4/{known.foaled},{known.sex},,,,1/2/2026\n"
        "Wrong One,2/4/2022,xx,Alder,Rush,12,1/2/2026\n"
    )
    one = give(text, "horses")
    counts = check(one, one.proposed)
    assert (counts.taken, counts.already, counts.refused) == (2, 1, 1)
    intake, _ = taken(one, trainer)
    first = Horse.objects.get(name="Quillmoor Test")
    assert (first.foaled, first.foaled_on, first.sex, first.dam) == (2023, date(2023, 3, 12), "filly", "Sedge")
    assert (first.microchip, first.joined) == ("985100012345678", date(2026, 2, 1))
    Share.objects.create(horse=first, owner=trainer, numerator=1, denominator=1, first_day=date(2026, 2, 1))
    done = undo(intake, trainer)
    assert (done.removed, done.kept) == (1, 1)
    assert done.left == ["line 2: Quillmoor Test stays, for shares refer to it"]
    assert not Horse.objects.filter(name="Fenmoor Test").exists()
    assert Horse.objects.filter(name=known.name).exists()


def test_columns_that_cannot_be_used_are_refused(give: Give, names: list[str], trainer: Person) -> None:
    """A choice of a heading that is not there, of something that no row says, or without a day, is refused."""
    one = give(masses(names))
    columns = dict(one.proposed.columns)
    for chosen in (
        Chosen(columns | {"kg": "Girth"}),
        Chosen(columns | {"girth": "Horse"}),
        Chosen({name: heading for name, heading in columns.items() if name != "day"}),
        Chosen(columns, order="year"),
    ):
        with pytest.raises(ColumnsError):
            begin(one, chosen, trainer)
    assert not Intake.objects.exists()


def test_what_was_left_out_is_a_table_that_computes_nothing(give: Give, names: list[str]) -> None:
    """The rows left out come back as a CSV with their lines and the reason, and no cell of it is a formula."""
    one = give(f"Horse,Date,Mass\n=cmd|' /C calc'!A0,{days_ago(1)},480\n{names[0]},{days_ago(1)},481\n+1+1,x,\n")
    rows = list(csv.reader(io.StringIO("".join(left_out(one, one.proposed)))))
    assert [row[0] for row in rows] == ["line", "2", "4"]
    assert rows[1][1] == "'=cmd|' /C calc'!A0"
    assert rows[2][1] == "'+1+1"
    assert "the books have no horse of that name" in rows[1][-1]
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]


# Long tables ------------------------------------------------------------------------------------------------------


def test_a_long_table_is_looked_at_row_by_row(give: Give, names: list[str]) -> None:
    """Of 5,000 rows every one is looked at, and its faults stand with their own lines."""
    lines = long_table(names, 5000).splitlines()
    lines[4321] = f"{names[0]},{days_ago(1)},12"
    one = give("\n".join(lines))
    counts = check(one, one.proposed)
    assert (counts.rows, counts.taken, counts.refused) == (5000, 4999, 1)
    assert [wrong.line for wrong in counts.wrong] == [4322]


def test_a_job_takes_in_what_another_had_begun(
    give: Give, names: list[str], trainer: Person, seat: Seat, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between two lots of rows the import is finished by the next worker, every row once and counted once."""
    one = give(long_table(names, 450))
    intake = begin(one, one.proposed, trainer)
    job = jobs.ask(intakes.JOB, {"do": "take", "intake": intake.pk}, by=trainer)
    written = intakes._written
    calls: list[int] = []

    def dying(*arguments: Any) -> Any:
        calls.append(len(arguments[1]))
        if len(calls) == 2:
            raise KeyboardInterrupt
        return written(*arguments)

    monkeypatch.setattr(intakes, "_written", dying)
    with pytest.raises(KeyboardInterrupt):
        run(job.pk)
    assert len(standing("mass")) == 200
    Job.objects.filter(pk=job.pk).update(state=Job.State.WAITING, worker="")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == (Job.State.DONE, {"taken": 450, "already": 0, "refused": 0})
    assert calls == [200, 200, 200, 50]
    assert len(standing("mass")) == Taken.objects.count() == 450


def test_a_job_that_is_stopped_leaves_whole_lots(
    give: Give, names: list[str], trainer: Person, seat: Seat, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped half-way the rows of the lots that were done stand, the others do not, and what stands can be undone."""
    one = give(long_table(names, 450))
    intake = begin(one, one.proposed, trainer)
    job = jobs.ask(intakes.JOB, {"do": "take", "intake": intake.pk}, by=trainer)
    with pytest.raises(ImportBusyError):
        may_undo(intake, trainer)
    looked_at = intakes.looked_at

    def stopping(*arguments: Any) -> Any:
        for place, some in enumerate(looked_at(*arguments)):
            if place == 1:
                jobs.cancel(job, trainer)
            yield some

    monkeypatch.setattr(intakes, "looked_at", stopping)
    run(job.pk)
    job.refresh_from_db()
    assert job.state == Job.State.CANCELLED
    assert len(standing("mass")) == Taken.objects.count() == 200
    assert undo(intake, trainer).withdrawn == 200
    assert standing("mass") == []


def test_a_job_looks_and_undoes(give: Give, names: list[str], trainer: Person, seat: Seat) -> None:
    """A look at all rows writes nothing and tells what it found; undoing as a job withdraws every entry."""
    one = give(long_table(names, 30) + "Nobody,2026-01-01,480\n")
    asked = {"do": "check", "sha256": one.kept.sha256, "what": "masses", "chosen": one.proposed.told()}
    look = jobs.ask(intakes.JOB, asked, by=trainer)
    run(look.pk)
    look.refresh_from_db()
    assert (look.result["taken"], look.result["refused"], look.result["wrong"][0]["line"]) == (30, 1, 32)
    assert not Entry.objects.exists()
    intake, _ = taken(one, trainer)
    back = jobs.ask(intakes.JOB, {"do": "undo", "intake": intake.pk, "by": trainer.pk}, by=trainer)
    run(back.pk)
    back.refresh_from_db()
    assert back.result == {"withdrawn": 30, "removed": 0, "kept": 0}
    nothing = jobs.ask(intakes.JOB, {}, by=trainer)
    run(nothing.pk)
    nothing.refresh_from_db()
    assert (nothing.state, nothing.failure) == (
        Job.State.FAILED, "no table was named; begin on the page of tables.",
    )  # fmt: skip


def test_a_refusal_of_the_books_leaves_its_row_out(
    give: Give, names: list[str], trainer: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row that the diary refuses only when it is written is left out and told, and the rows beside it are taken."""
    from upsides.errors import EntryRefusedError

    record = intakes.record

    def refusing(draft: Any, author: Person) -> Entry:
        if draft.values["kg"] == "481 kg":
            raise EntryRefusedError("mass", "481", "it is refused here", "leave it")
        return record(draft, author)

    monkeypatch.setattr(intakes, "record", refusing)
    _, counts = taken(give(masses(names[:3])), trainer)
    assert (counts.taken, counts.refused, len(standing("mass"))) == (2, 1, 2)
    assert [(wrong.line, wrong.remedy) for wrong in counts.wrong] == [(3, "leave it")]
