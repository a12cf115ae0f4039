"""The register of medicines.

Sources: Veterinary Medicines Regulations 2013 (SI 2013/2033), regulations 18, 19; Regulation (EU) 2019/6, article 108;
Australian Rules of Racing, AR 178F, notices of 2009 and 2015.
"""

from datetime import date

from upsides.rules import MedicineEvent, RegisterField, kept_until, override, register_lacks, register_requires

ON = date(2024, 3, 1)
F = RegisterField


def fields(event: MedicineEvent, place: str, on: date = ON) -> set[RegisterField]:
    return {required.field for required in register_requires(event, place, on)}


def test_britain_by_what_happened() -> None:
    """Acquired, given, and given by the vet each ask for what regulations 18 and 19 list."""
    assert fields(MedicineEvent.ACQUIRED, "Britain") == {
        F.PRODUCT,
        F.BATCH,
        F.DATE,
        F.QUANTITY,
        F.SUPPLIER,
        F.SUPPLIER_ADDRESS,
    }
    given = {F.PRODUCT, F.DATE, F.QUANTITY, F.WITHDRAWAL_PERIOD, F.HORSE}
    assert fields(MedicineEvent.GIVEN, "Britain") == given
    assert fields(MedicineEvent.GIVEN_BY_VET, "Britain") == given | {F.VET, F.BATCH}
    assert fields(MedicineEvent.GIVEN, "Britain", date(2013, 9, 30)) == set()


def test_the_european_union() -> None:
    """Article 108 lists date, product, quantity, supplier, horse, vet, withdrawal period, duration; five years."""
    assert fields(MedicineEvent.GIVEN, "Ireland") == {
        F.DATE,
        F.PRODUCT,
        F.QUANTITY,
        F.SUPPLIER,
        F.SUPPLIER_ADDRESS,
        F.HORSE,
        F.VET,
        F.WITHDRAWAL_PERIOD,
        F.DURATION,
    }
    kept = kept_until(MedicineEvent.GIVEN, "France", date(2024, 2, 29))
    assert kept is not None
    assert kept[0] == date(2029, 2, 28)


def test_australia_asked_for_more_from_2015() -> None:
    """AR 178F of 2009 asked for six things, the notice of 2015 for time and duration besides; kept twelve months."""
    first = {F.HORSE, F.DATE, F.PRODUCT, F.ROUTE, F.QUANTITY, F.GIVEN_BY}
    assert fields(MedicineEvent.GIVEN, "AU", date(2010, 1, 1)) == first
    assert fields(MedicineEvent.GIVEN, "AU") == first | {F.TIME, F.DURATION}
    kept = kept_until(MedicineEvent.GIVEN, "AU", ON)
    assert kept is not None
    assert kept[0] == date(2025, 3, 1)


def test_what_a_line_lacks() -> None:
    """A line without its quantity and batch is told both where a vet gave the medicine, with the rules that ask."""
    has = {F.PRODUCT, F.DATE, F.WITHDRAWAL_PERIOD, F.HORSE, F.VET}
    lacks = register_lacks(MedicineEvent.GIVEN_BY_VET, has, "Britain", ON)
    assert {required.field: len(required.rules) for required in lacks} == {F.BATCH: 1, F.QUANTITY: 2}
    assert register_lacks(MedicineEvent.GIVEN, set(F), "Britain", ON) == ()


def test_a_place_without_a_rule_asks_for_nothing_here() -> None:
    """Where no rule is known nothing is asked for and no last day is made up; a yard's own rule fills the gap."""
    assert register_requires(MedicineEvent.GIVEN, "Hong Kong", ON) == ()
    assert kept_until(MedicineEvent.GIVEN, "Hong Kong", ON) is None
    mine = override(
        "medicine register",
        "ours",
        "Hong Kong",
        "our own",
        kind="racing",
        event="given",
        fields=["horse"],
        keep_months=24,
    )
    kept = kept_until(MedicineEvent.GIVEN, "Hong Kong", ON, overrides=mine)
    assert kept is not None
    assert kept[0] == date(2026, 3, 1)
