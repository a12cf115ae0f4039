"""Lines of laboratories' reports: how they are written, what cannot be told from them, what they say of an interval.

The forms are those in which reports print a result (common practice, no source): powers of ten as 10^9, 10*9, 10e9 and
10⁹; intervals with a dash, in brackets, or with one end; the laboratory's letter H or L beside what lies outside.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from upsides.books.diary import kind_of
from upsides.books.diary.blood import Analyte, read_lines, unit_key
from upsides.errors import EntryRefusedError


def one(line: str) -> Analyte:
    (found,) = read_lines(line)
    return Analyte(**found)


@pytest.mark.parametrize(
    ("line", "name", "value", "unit", "low", "high", "bound"),
    [
        ("PCV 42 % 32-48", "PCV", 42, "%", 32, 48, ""),
        ("PCV 42% 32-48", "PCV", 42, "%", 32, 48, ""),
        ("PCV: 42 % (32 - 48)", "PCV", 42, "%", 32, 48, ""),
        ("PCV ........ 42 % [32–48]", "PCV", 42, "%", 32, 48, ""),
        ("PCV 42 (32-48) %", "PCV", 42, "%", 32, 48, ""),
        ("WBC 8.2 10^9/l 5.5-12.5", "WBC", 8.2, "10^9/l", 5.5, 12.5, ""),
        ("WBC 8.2 x10*9/L 5.5 - 12.5", "WBC", 8.2, "x10*9/L", 5.5, 12.5, ""),
        ("WBC 8.2 x 10^9/L (5.5-12.5)", "WBC", 8.2, "x 10^9/L", 5.5, 12.5, ""),
        ("WBC 8,2 10⁹/l 5,5 - 12,5", "WBC", 8.2, "10^9/l", 5.5, 12.5, ""),
        ("RBC 9.1 10*12/L 6.5 to 12", "RBC", 9.1, "10*12/L", 6.5, 12, ""),
        ("RBC 9.1 10e12/l", "RBC", 9.1, "10e12/l", None, None, ""),
        ("Haemoglobin 14.2 g/dL 11.0-19.0", "Haemoglobin", 14.2, "g/dL", 11, 19, ""),
        ("Total bilirubin 28 µmol/l 13-50", "Total bilirubin", 28, "µmol/l", 13, 50, ""),
        ("Total bilirubin 28 \u03bcmol / L 13 - 50", "Total bilirubin", 28, "µmol/L", 13, 50, ""),
        ("SAA < 5 mg/l < 20", "SAA", 5, "mg/l", None, 20, "<"),
        ("SAA <5 mg/L (<20)", "SAA", 5, "mg/L", None, 20, "<"),
        ("SAA ≤5 mg/L ≤ 20", "SAA", 5, "mg/L", None, 20, "<"),
        ("SAA > 3000 mg/l up to 20", "SAA", 3000, "mg/l", None, 20, ">"),
        ("Lactate 0.7 mmol/l >0.2", "Lactate", 0.7, "mmol/l", 0.2, None, ""),
        ("CK (creatine kinase) 640 U/L 100 - 400 H", "CK (creatine kinase)", 640, "U/L", 100, 400, ""),
        ("CK 640 H U/L 100-400", "CK", 640, "U/L", 100, 400, ""),
        ("GGT 62 * U/L 10-40", "GGT", 62, "U/L", 10, 40, ""),
        ("MCV 45.1 fL", "MCV", 45.1, "fL", None, None, ""),
        ("A/G ratio 0.9", "A/G ratio", 0.9, "", None, None, ""),
        ("Vit B 12 250 ng/l 200-500", "Vit B 12", 250, "ng/l", 200, 500, ""),
        ("Base excess -2.1 mmol/l -4 - 2", "Base excess", -2.1, "mmol/l", -4, 2, ""),
        ("Fibrinogen 3.1 g/l Ref: 2.0-4.0", "Fibrinogen", 3.1, "g/l", 2, 4, ""),
        ("T4 - 21 nmol/l 6-46", "T4", 21, "nmol/l", 6, 46, ""),
        ("Troponin 0,125 ng/ml", "Troponin", 0.125, "ng/ml", None, None, ""),
        ("PCV\t42\t%\t32\t48", "PCV", 42, "%", 32, 48, ""),
        ("PCV\t42\t%\t32-48", "PCV", 42, "%", 32, 48, ""),
        ("25-OH vitamin D\t42\tnmol/l\t\t", "25-OH vitamin D", 42, "nmol/l", None, None, ""),
        ("SAA\t<5\tmg/l\t\t20", "SAA", 5, "mg/l", None, 20, "<"),
    ],
)
def test_reports_are_read(
    line: str, name: str, value: float, unit: str, low: float | None, high: float | None, bound: str
) -> None:
    """However a report writes it, a line gives name, value, unit and interval, and nothing is converted."""
    assert one(line) == Analyte(name, value, unit, low, high, bound)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("CK 1,250 U/L 100-400", "the comma in 1,250 can stand for thousands or for decimals"),
        ("CK 640 U/L 100-1,400", "the comma in 1,400"),
        ("CK\t1,250\tU/L", "the comma in 1,250"),
        ("CK 1250 H", "the letter H stands there without the interval that it goes by"),
        ("PCV 42 % 48-32", "the interval ends before it begins"),
        ("Haematology", "it cannot be read"),
        ("PCV forty", "it cannot be read"),
        ("42 % 32-48", "it cannot be read"),
        ("PCV 42 % 32-48 fasting sample", "it cannot be read"),
        ("x" * 200, "more than 160 characters"),
        (f"{'x' * 70} 4 %", "longer than any"),
    ],
)
def test_what_could_be_read_in_two_ways_is_refused(line: str, reason: str) -> None:
    """A line that is no result, or that could be two, is refused by its number, and nothing of the report is kept."""
    with pytest.raises(EntryRefusedError, match=r"results, line 2") as refused:
        read_lines(f"PCV 42 %\n{line}")
    assert reason in str(refused.value)


def test_the_same_in_two_units_stands_twice_in_the_same_once() -> None:
    """A share and a number of the same cells are two results; the same unit written in two ways is one twice."""
    assert len(read_lines("Neutrophils 60 % 50-70\nNeutrophils 4.9 10^9/l 2.5-6.5")) == 2
    with pytest.raises(EntryRefusedError, match="it comes twice"):
        read_lines("WBC 8.2 10^9/l\nwbc 8.3 x10*9/L")
    with pytest.raises(EntryRefusedError, match="80 is the most"):
        read_lines("\n".join(f"A{'b' * number} 1" for number in range(81)))


@pytest.mark.parametrize(
    "alike",
    [
        ("10^9/l", "x10*9/L", "x 10^9/L", "10⁹/l", "10e9/L", "×10**9/L"),
        ("g/dl", "g/dL", "g / dL"),
        ("µmol/l", "\u03bcmol/L", "umol/l"),
        ("U/l", "U/L"),
    ],
)
def test_one_unit_written_otherwise_is_the_same(alike: tuple[str, ...]) -> None:
    """Ways of writing the same unit are one."""
    assert len({unit_key(unit) for unit in alike}) == 1


def test_units_that_differ_stay_different() -> None:
    """No two units are taken for one another, by a factor of ten least of all."""
    units = ("g/l", "g/dl", "mg/l", "mmol/l", "µmol/l", "%", "U/l", "10^9/l", "10^12/l", "10^6/l", "fL", "", "Ug/l")
    assert len({unit_key(unit) for unit in units}) == len(units)


@pytest.mark.parametrize(
    ("result", "side", "unsure"),
    [
        (Analyte("A", 31.9, low=32, high=48), "below", False),
        (Analyte("A", 32.0, low=32, high=48), "", False),
        (Analyte("A", 48.0, low=32, high=48), "", False),
        (Analyte("A", 48.1, low=32, high=48), "above", False),
        (Analyte("A", 5, high=20, bound="<"), "", False),
        (Analyte("A", 50, high=20, bound="<"), "", True),
        (Analyte("A", 5, low=5, high=20, bound="<"), "below", False),
        (Analyte("A", 7, low=5, high=20, bound="<"), "", True),
        (Analyte("A", 3000, high=20, bound=">"), "above", False),
        (Analyte("A", 20, high=20, bound=">"), "above", False),
        (Analyte("A", 10, high=20, bound=">"), "", True),
        (Analyte("A", 10, low=5, bound=">"), "", False),
        (Analyte("A", 10), "", False),
        (Analyte("A", 10, bound="<"), "", False),
    ],
)
def test_outside_is_said_only_where_it_is_certain(result: Analyte, side: str, unsure: bool) -> None:  # noqa: FBT001
    """A value lies outside its laboratory's interval, or does not, or, beyond what can be measured, may."""
    assert (result.side, result.outside, result.unsure) == (side, bool(side), unsure)


NUMBERS = st.decimals(0, 99999, places=3).map(float)
NAMES = st.text(st.sampled_from("abcABC 123-/().%µü"), min_size=1, max_size=12).map(lambda text: " ".join(text.split()))
UNITS = st.sampled_from(["", "%", "g/l", "10^9/l", "x10*9/L", "µmol/l", "U/L", "fL", "mg / dl", "H"])


@settings(max_examples=300, deadline=None)
@given(NAMES.filter(bool), NUMBERS, UNITS, NUMBERS | st.none(), NUMBERS | st.none(), st.sampled_from(["", "<", ">"]))
def test_a_result_is_typed_as_it_reads_back(
    name: str, value: float, unit: str, one_end: float | None, other: float | None, bound: str
) -> None:
    """Whatever is kept stands in the form for correcting so that entering it again keeps the same."""
    low, high = (min(one_end, other), max(one_end, other)) if None not in {one_end, other} else (one_end, other)
    result = Analyte(name, value, unit, low, high, bound)
    assert one(result.typed()) == result


def test_a_sample_is_corrected_as_it_stands() -> None:
    """A sample read, shown for correcting and read again is the same sample."""
    report = "PCV 42 % 32-48\nSAA < 5 mg/l < 20\n25-OH vitamin D\t42\tnmol/l\t\t\nLactate 0.7 mmol/l > 0.2"
    bloods = kind_of("bloods")
    kept = bloods.parse({"laboratory": "Moor End", "results": report})
    assert bloods.parse(kept.typed()) == kept
    assert kept.words() == "Bloods (Moor End): 4 measured, none outside its interval."
