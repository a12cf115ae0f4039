"""Every printed sheet: what stands on it, on which page, and what it does with names that nobody expects."""

import io
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader
from pypdfium2 import PdfDocument
from typst import Fonts

import printed_yard
from upsides.errors import PaperSizeError, SheetRefusedError
from upsides.paper import typeset
from upsides.paper.checks import BarnChecks, checks_pdf
from upsides.paper.evening import evening_pdf
from upsides.paper.feed_board import FedBarn, FedHorse, feed_board_pdf
from upsides.paper.look_at import BarnLooks, look_at_pdf
from upsides.paper.lots import Ride
from upsides.paper.morning import Look, morning_pdf
from upsides.paper.race_day import RaceDayRunner, race_day_pdf
from upsides.paper.register import RegisterEntry, register_pdf
from upsides.paper.typeset import SIZES, TEMPLATES, seen
from upsides.paper.week import week_pdf


@dataclass(frozen=True)
class Printed:
    """A kind of sheet: how the invented yard fills it, how it is printed, and a head of a column of it."""

    fill: Callable[[int], Any]
    pdf: Callable[..., bytes]
    column: str


SHEETS = {
    "morning": Printed(printed_yard.morning, morning_pdf, "Exercise order"),
    "evening": Printed(printed_yard.evening, evening_pdf, "Exercise order"),
    "checks": Printed(printed_yard.checks, checks_pdf, "Droppings"),
    "look_at": Printed(printed_yard.look_at, look_at_pdf, "What was seen"),
    "race_day": Printed(printed_yard.race_day, race_day_pdf, "What came of it"),
    "feed_board": Printed(printed_yard.feed_board, feed_board_pdf, "17:30"),
    "week": Printed(printed_yard.week, week_pdf, "Thu 14"),
    "register": Printed(printed_yard.register, register_pdf, "Given by"),
}
EACH = pytest.mark.parametrize("kind", list(SHEETS))
HOSTILE = (
    "#panic()",
    '#{sys.inputs} *a* _b_ $x$ `y` "q" \\ @z <l> // c',
    "= Head",
    "Ñandú Ærøskøbing Żółw",
    'O’Dea\'s "Own"',
    "](https://example.org)",
)


def pages(pdf: bytes) -> list[str]:
    """Return the text of each page, every run of white space as one space."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in PdfDocument(pdf)]


@cache
def yards_pages(kind: str, count: int) -> list[str]:
    """Return the text of each page of a kind of sheet of the invented yard."""
    return pages(SHEETS[kind].pdf(SHEETS[kind].fill(count)))


def tight(text: str) -> str:
    """Return a text without white space, for what may be broken over lines."""
    return "".join(text.split())


@EACH
def test_what_stands_on_every_page(kind: str) -> None:
    """Title, yard, day, when it was printed, and its number of how many are on each page of sixty horses."""
    sheet = SHEETS[kind].fill(60)
    printed = yards_pages(kind, 60)
    assert len(printed) > 1
    for number, page in enumerate(printed, start=1):
        head = sheet.masthead
        for words in (head.title, head.yard, head.day, head.printed, f"Page {number} of {len(printed)}"):
            assert words in page


@EACH
def test_nobody_is_lost(kind: str) -> None:
    """Every horse (every person, every treatment) of three hundred is on the paper, and the opening sentence first."""
    sheet = SHEETS[kind].fill(300)
    printed = pages(SHEETS[kind].pdf(sheet))
    whole = tight("".join(printed))
    listed = {
        "week": printed_yard.people(300),
        "register": [e.identity.split("\n")[1] for e in printed_yard.register(300).entries],
    }
    missing = [name for name in listed.get(kind, printed_yard.names(300)) if tight(name) not in whole]
    assert missing == []
    assert sheet.sentence in printed[0]


@EACH
def test_heads_of_columns_repeat(kind: str) -> None:
    """Each page that a table goes on to has its heads again; the front page of the lots' sheets has none."""
    printed = yards_pages(kind, 60)
    without = [number for number, page in enumerate(printed, start=1) if SHEETS[kind].column not in page]
    assert without == ([1] if kind in {"morning", "evening"} else [])


@EACH
def test_the_same_sheet_is_the_same_file(kind: str) -> None:
    """Two prints of one sheet are equal to the byte, and the date inside is the one that was given."""
    sheet = SHEETS[kind].fill(20)
    first = SHEETS[kind].pdf(sheet)
    assert first == SHEETS[kind].pdf(SHEETS[kind].fill(20))
    assert PdfReader(io.BytesIO(first)).metadata.creation_date == datetime(2026, 5, 12, 3, 41, tzinfo=UTC)


@EACH
def test_an_empty_yard_says_so(kind: str) -> None:
    """A yard without horses or people prints one page with the sentence that says there is nothing."""
    sheet = SHEETS[kind].fill(0)
    (page,) = pages(SHEETS[kind].pdf(sheet))
    assert getattr(sheet, "nothing", getattr(sheet, "no_lots", None)) in page


@EACH
def test_paper_sizes(kind: str) -> None:
    """Each size gives pages of its own measures, in points of 1/72 inch, upright or lying; another size is refused."""
    sheet = SHEETS[kind].fill(3)
    for size, measures in SIZES.items():
        box = PdfReader(io.BytesIO(SHEETS[kind].pdf(sheet, size))).pages[0].mediabox
        wanted = sorted(mm / 25.4 * 72 for mm in measures)
        assert sorted([float(box.width), float(box.height)]) == pytest.approx(wanted, abs=0.1)
    with pytest.raises(PaperSizeError, match=r"no paper of size 'a0'; there are: a4, letter"):
        SHEETS[kind].pdf(sheet, "a0")


@EACH
def test_a_past_moment_is_told_on_every_page(kind: str) -> None:
    """A sheet as of a past moment says so on each page, and a sheet of now does not."""
    sheet = SHEETS[kind].fill(60)
    told = "As the yard knew it on 3 May 2026 at 18:00"
    past = replace(sheet, masthead=replace(sheet.masthead, as_of=told))
    assert all(told in page for page in pages(SHEETS[kind].pdf(past)))
    assert not any(told in page for page in yards_pages(kind, 60))


def hostile(name: str) -> dict[str, Any]:
    """Return one sheet of each kind that has the name wherever a name or words can stand."""
    morning, feed = printed_yard.morning(3), printed_yard.feed_board(1)
    ride = Ride(**{f.name: (name,) if f.name == "cautions" else name for f in fields(Ride)})
    lots = tuple(replace(lot, title=name, note=name, rides=(ride,)) for lot in morning.lots)
    barn, week = printed_yard.checks(1).barns[0], printed_yard.week(1)
    meals = tuple(replace(meal, amount=name, changed=name) for meal in feed.barns[0].horses[0].meals)
    times = tuple(replace(time, title=name, feeds=(name,)) for time in feed.barns[0].times)
    entry = printed_yard.register(1).entries[0]
    words = {f.name: name for f in fields(RegisterEntry) if f.name != "struck"}
    return {
        "morning": replace(morning, lots=lots, sentence=name, masthead=printed_yard.masthead(name, name)),
        "evening": replace(printed_yard.evening(3), lots=lots, sentence=name),
        "checks": replace(
            printed_yard.checks(1),
            barns=(BarnChecks(name, tuple(replace(row, horse=name, box=name, last_mass=name) for row in barn.rows)),),
        ),
        "look_at": replace(
            printed_yard.look_at(1),
            barns=(BarnLooks(name, (Look(name, name, (name,)),)),),
            sentence=name,
            groups=(name,),
        ),
        "race_day": replace(
            printed_yard.race_day(1),
            runners=(RaceDayRunner(name, name, (name,), (name,), (name,), (name,)),),
            sentence=name,
        ),
        "feed_board": replace(feed, barns=(FedBarn(name, times, (FedHorse(name, name, meals, name),), name),)),
        "week": replace(week, people=(replace(week.people[0], name=name, duty=name, total=name),), sentence=name),
        "register": replace(printed_yard.register(1), entries=(replace(entry, struck=True, **words),), sentence=name),
    }


@EACH
@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_never_read_as_markup(kind: str, name: str) -> None:
    """Whatever a horse is called is printed letter by letter, on any sheet and wherever words can stand."""
    whole = tight("".join(pages(SHEETS[kind].pdf(hostile(name)[kind]))))
    assert whole.count(tight(name)) >= 3


@EACH
def test_a_word_without_end_stays_on_the_paper(kind: str) -> None:
    """A word of 360 letters breaks into lines: none of them is lost, and none ends beyond the edge."""
    read = ""
    for page in PdfDocument(SHEETS[kind].pdf(hostile("Wx" * 180)[kind])):
        text = page.get_textpage()
        ends = [text.get_charbox(place)[2] for place in range(text.count_chars())]
        assert max(ends) < page.get_width()
        read += text.get_text_bounded()
    assert read.count("W") >= 3 * 180


@EACH
def test_letters_from_right_to_left_and_unknown_ones(kind: str) -> None:
    """Arabic letters, Chinese ones, pictures, half characters and turns of direction print without refusal."""
    for name in ("سهم الفجر", "金槍六十", "😀🐴", "half \ud83d", "turn\u202eed", "nul\x00"):
        assert SHEETS[kind].pdf(hostile(name)[kind]).startswith(b"%PDF")


def test_what_nobody_sees_is_not_printed() -> None:
    """Controls become spaces, turns of direction go, line ends stay; letters of any script stay."""
    assert seen("a\x00b\tc\nd\u202ee\u2066f\ud800g") == "a b c\ndef g"
    assert seen("Ñ 金 سهم 😀") == "Ñ 金 سهم 😀"


def test_a_lot_stays_with_its_title() -> None:
    """Each lot of fifteen is whole on one page, under its title."""
    sheet, printed = printed_yard.morning(60), yards_pages("morning", 60)
    for lot in sheet.lots:
        (page,) = [page for page in printed if f"{lot.title} {lot.note}" in page]
        assert [ride.horse for ride in lot.rides if f"{ride.horse} {ride.rider}" not in page] == []


def test_a_lot_longer_than_a_page_has_its_title_again() -> None:
    """A lot of sixty horses goes over several pages, each with the lot's title and the heads."""
    sheet = printed_yard.morning(60)
    rides = tuple(ride for lot in sheet.lots for ride in lot.rides)
    long = replace(sheet, lots=(replace(sheet.lots[0], rides=rides),), lists=(), looks=())
    printed = pages(morning_pdf(long))[1:]
    assert len(printed) > 3
    assert all("First lot" in page and "Exercise order" in page for page in printed)


def test_small_yards_fit_one_page() -> None:
    """Ten horses, whom to look at and the lists stand on one page, the lists behind the lots."""
    (page,) = pages(morning_pdf(replace(printed_yard.morning(6), lists=printed_yard.lists(printed_yard.names(6))[:2])))
    assert page.index("Look at first") < page.index("First lot") < page.index("Runners today")


def test_lists_fill_the_front_page_where_the_first_lot_does_not() -> None:
    """With a first lot that needs a page, the lists stand on the front page, so that it is not left empty."""
    printed = yards_pages("morning", 60)
    assert "Runners today" in printed[0]
    assert "Nobody is due this week." in printed[0]
    assert "First lot" in printed[1]


@pytest.mark.parametrize("kind", ["checks", "feed_board"])
def test_each_barn_has_pages_of_its_own(kind: str) -> None:
    """Three barns of twenty make three pages, each with the horses of its own barn and of no other."""
    printed = yards_pages(kind, 60)
    assert len(printed) == 3
    for place, name in enumerate(printed_yard.names(60)):
        assert [name in page for page in printed].index(True) == place // 20
        assert sum(name in page for page in printed) == 1


def test_no_page_of_a_barn_goes_unsigned() -> None:
    """A barn of fifty goes over several pages, each with the barn's title, the heads and the lines to sign."""
    sheet = printed_yard.checks(50)
    rows = tuple(row for barn in sheet.barns for row in barn.rows)
    printed = pages(checks_pdf(replace(sheet, barns=(BarnChecks("Barn A", rows),))))
    assert len(printed) > 1
    assert all("Barn A" in page and "Walked by" in page and "Droppings" in page for page in printed)


def test_what_changed_is_told_in_words() -> None:
    """Tomorrow's list says how changes are marked and each change; without any it does not speak of marks."""
    sheet = printed_yard.evening(30)
    whole = " ".join(pages(evening_pdf(sheet)))
    assert sheet.key in whole
    assert "Was in the second lot" in whole
    still = tuple(replace(lot, rides=tuple(replace(ride, changed="") for ride in lot.rides)) for lot in sheet.lots)
    assert sheet.key not in " ".join(pages(evening_pdf(replace(sheet, lots=still))))


def test_what_changed_takes_one_line() -> None:
    """What a horse's order was the day before stands in one line across the columns, not in several below its name."""
    was = "was long steady canter; lot 4; gallop Long Sand; rider G. Cottrelmere; distance 10 f"
    sheet = printed_yard.evening(30)
    lots = tuple(replace(lot, rides=tuple(replace(one, changed=was) for one in lot.rides)) for lot in sheet.lots)
    read = PdfReader(io.BytesIO(evening_pdf(replace(sheet, lots=lots)))).pages
    lines = [line.strip() for page in read for line in page.extract_text().splitlines()]
    assert lines.count(was) == 30


def test_a_first_lot_longer_than_a_page_begins_on_the_front_page() -> None:
    """Where no lists fill the front page a lot that needs more than a page anyway begins there."""
    sheet = printed_yard.evening(60)
    rides = tuple(ride for lot in sheet.lots for ride in lot.rides)
    printed = pages(evening_pdf(replace(sheet, lots=(replace(sheet.lots[0], rides=rides),))))
    assert sheet.sentence in printed[0]
    assert rides[0].horse in printed[0]


def test_a_corrected_entry_stays_beside_its_correction() -> None:
    """The struck entry, who corrected it and why, and the entry that corrects it are on the same register."""
    sheet = printed_yard.register(12)
    whole = " ".join(pages(register_pdf(sheet)))
    struck, after = sheet.entries[3], sheet.entries[4]
    assert struck.struck
    for words in (struck.identity.split("\n")[1], struck.remark, after.identity.split("\n")[1], after.remark):
        assert words in whole


def test_only_what_is_struck_is_struck() -> None:
    """An entry that was corrected has lines through it, which the same entry unstruck has not."""
    sheet = printed_yard.register(1)
    struck = replace(sheet, entries=(replace(sheet.entries[0], struck=True),))

    def lines(pdf: bytes) -> int:
        (page,) = PdfReader(io.BytesIO(pdf)).pages
        return page.get_contents().get_data().count(b" l\n")

    assert lines(register_pdf(struck)) >= lines(register_pdf(sheet)) + 12


def test_the_caution_stands_on_every_page_of_the_register() -> None:
    """The authorities' caution is at the foot of each page."""
    printed = yards_pages("register", 60)
    assert len(printed) > 3
    assert all(printed_yard.CAUTION in page for page in printed)


def test_rows_that_do_not_fit_their_heads_are_refused() -> None:
    """A horse with an amount too few is refused by name, before its amounts slip under another feed."""
    sheet = printed_yard.feed_board(1)
    short = replace(sheet.barns[0].horses[0], meals=sheet.barns[0].horses[0].meals[:3])
    wrong = replace(sheet, barns=(replace(sheet.barns[0], horses=(short,)),))
    with pytest.raises(SheetRefusedError, match=f"'Feed board' could not be printed.*{short.horse}"):
        feed_board_pdf(wrong)


def test_the_letters_are_inside_the_file() -> None:
    """The wheel's own typeface is used and carried in the file, so that it prints alike everywhere."""
    (page, *_) = PdfReader(io.BytesIO(morning_pdf(printed_yard.morning(10)))).pages
    names = {str(font.get_object()["/BaseFont"]) for font in page["/Resources"]["/Font"].values()}
    assert names
    assert all("Libertinus" in name and name.index("+") == 7 for name in names)


def test_letters_that_no_font_has_are_told_once_a_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no font of the machine has letters of a name, the foot of each page says which, by their code points; names
    that can be printed are not spoken of, and nothing is said where the caller has no words for it."""
    monkeypatch.setattr(typeset, "_fonts", lambda: Fonts(include_system_fonts=False))
    sheet = printed_yard.morning(60)
    head = replace(sheet.masthead, boxes="Boxes: {letters}.")
    name = "Żółw \u99ac\u65e5 \u99ac"  # two letters of Japanese, one of them twice
    odd = replace(sheet, masthead=head, sentence=name)
    printed = pages(morning_pdf(odd))
    assert len(printed) > 1
    assert [page.count("Boxes: U+99AC, U+65E5.") for page in printed] == [1] * len(printed)
    assert "Boxes" not in " ".join(pages(morning_pdf(replace(sheet, masthead=head, sentence="Żółw Ωmega Бег"))))
    assert morning_pdf(replace(odd, masthead=sheet.masthead))


def test_templates_fetch_nothing() -> None:
    """No template imports a package from outside or reads a file but its neighbours and the values given."""
    texts = [path.read_text("utf-8") for path in sorted(TEMPLATES.glob("*.typ"))]
    assert len(texts) == 10
    for text in texts:
        assert "@" not in text
        assert "read(" not in text
        assert "eval(" not in text
