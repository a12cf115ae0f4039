"""The words of the yard's books that rules speak in: steps of a vaccination, what a register holds, limits of work."""

from enum import StrEnum


class Step(StrEnum):
    """Which dose of a vaccination it is."""

    FIRST = "first dose"
    SECOND = "second dose"
    THIRD = "third dose"
    BOOSTER = "booster"

    @property
    def after(self) -> "Step":
        """The dose that follows."""
        return {Step.FIRST: Step.SECOND, Step.SECOND: Step.THIRD}.get(self, Step.BOOSTER)


class MedicineEvent(StrEnum):
    """What happened to a medicine, for the register."""

    ACQUIRED = "acquired"
    GIVEN = "given"
    GIVEN_BY_VET = "given by the vet"
    DISPOSED = "disposed of"


class RegisterField(StrEnum):
    """What a line of a register of medicines must hold."""

    PRODUCT = "product"
    BATCH = "batch"
    DATE = "date"
    TIME = "time"
    QUANTITY = "quantity"
    SUPPLIER = "supplier"
    SUPPLIER_ADDRESS = "supplier address"
    HORSE = "horse"
    VET = "vet"
    WITHDRAWAL_PERIOD = "withdrawal period"
    DURATION = "duration"
    ROUTE = "route"
    GIVEN_BY = "given by"
    HOW_DISPOSED = "how disposed of"


class Limit(StrEnum):
    """What a rule on working time limits, or asks for."""

    DAY = "hours a day"
    WEEK = "hours a week"
    AVERAGE = "average week"
    DAILY_REST = "daily rest"
    WEEKLY_REST = "weekly rest"
    BREAK = "break"
    NIGHT = "night"
    SCHOOL_AGE = "school age"


def listed(value: str | list[str]) -> tuple[str, ...]:
    """Return the words of a field that holds one or several."""
    return (value,) if isinstance(value, str) else tuple(value)
