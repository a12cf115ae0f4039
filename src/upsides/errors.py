"""The tree of errors. Each class owns its wording and names the thing at fault, the reason and the remedy."""


class UpsidesError(Exception):
    """Anything this package refuses in words a person can act on."""


# trade ----------------------------------------------------------------------------------------------------------------


class UnreadableError(UpsidesError):
    """A word or number of the trade that could not be read.

    Args:
        what: the kind of value, e.g. "distance".
        text: the text as it was given.
        expected: examples of what can be read.
    """

    def __init__(self, what: str, text: object, expected: str) -> None:
        super().__init__(f"{what} {text!r} cannot be read; write it like {expected}")
        self.what, self.text, self.expected = what, text, expected


class UnwritableError(UpsidesError):
    """A value that a style of writing has no exact form for.

    Args:
        what: the kind of value, e.g. "time".
        value: the value as text.
        style: the style asked for.
        remedy: what to do instead.
    """

    def __init__(self, what: str, value: str, style: str, remedy: str) -> None:
        super().__init__(f"{what} {value} cannot be written in the style {style!r}; {remedy}")


class NotComparableError(UpsidesError):
    """Two values of one kind that have no agreed order.

    Args:
        one: the first value as text.
        other: the second value as text.
        reason: why neither comes first, and what to do.
    """

    def __init__(self, one: str, other: str, reason: str) -> None:
        super().__init__(f"{one!r} and {other!r} cannot be put in order: {reason}")


class MarginNotListedError(UpsidesError):
    """A named margin that the jurisdiction's list gives no length for.

    Args:
        name: the margin.
        listed: the names that the list does have.
    """

    def __init__(self, name: str, listed: str) -> None:
        super().__init__(f"margin {name!r} is not in this list ({listed}); use a list that gives it a length")


# rules ------------------------------------------------------------------------------------------------------


class NoRuleError(UpsidesError):
    """No rule is in force for a jurisdiction on a date.

    Args:
        topic: what was asked for, e.g. "margins".
        jurisdiction: where.
        on: the date asked about.
        exists: what there is instead, one text a rule.
    """

    def __init__(self, topic: str, jurisdiction: str, on: object, exists: list[str]) -> None:
        known = "; ".join(exists) if exists else "none at all"
        super().__init__(
            f"{topic}: no rule for {jurisdiction} on {on}. Known: {known}. "
            "Use a date within one of these, or add the rule to the yard's own rules"
        )
        self.topic, self.jurisdiction, self.on, self.exists = topic, jurisdiction, on, exists


class NotPublishedError(UpsidesError):
    """A rule is in force, but gives no value for the case asked about.

    Args:
        topic: what was asked for, e.g. "weight for age".
        case: the case, e.g. "Australia on 2014-03-05, 1400 m, age 3".
        covers: what the rules in force do give.
    """

    def __init__(self, topic: str, case: str, covers: list[str]) -> None:
        super().__init__(
            f"{topic}: nothing is published for {case}. Published: {'; '.join(covers) or 'nothing'}. "
            "Nothing is guessed in between; add the value to the yard's own rules if you have it"
        )
        self.topic, self.case, self.covers = topic, case, covers


class RuleFileError(UpsidesError):
    """A file or table of rules that cannot be used; none of it is.

    Args:
        file: the file, or "given in code".
        where: the rule or field at fault.
        reason: what is wrong and how to put it right.
    """

    def __init__(self, file: object, where: str, reason: str) -> None:
        super().__init__(f"rules in {file}, {where}: {reason}")
        self.file, self.where, self.reason = str(file), where, reason


class NotEligibleError(UpsidesError):
    """A horse that a race's conditions do not take."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)


# ratings --------------------------------------------------------------------------------------------------------------


class CannotFitError(UpsidesError):
    """Numbers from which a model cannot be fitted.

    Args:
        what: the model or the input at fault.
        reason: why it cannot be fitted.
        remedy: what to do about it.
    """

    def __init__(self, what: str, reason: str, remedy: str) -> None:
        super().__init__(f"{what}: {reason}; {remedy}")
        self.what, self.reason, self.remedy = what, reason, remedy


class FitMissingError(UpsidesError):
    """There is no fit of this library, or none as of that day."""

    def __init__(self, folder: object, as_of: object, *, empty: bool = False) -> None:
        if empty:
            text = f"the library {folder} holds no races yet; add results first: upsides results add FILE --shape NAME"
        else:
            when = f" as of {as_of}" if as_of else ""
            text = f"the library {folder} has no fit{when}; make one: upsides fit --library {folder}"
        super().__init__(text)


class NotRatedError(UpsidesError):
    """A horse that no run with a margin speaks for."""

    def __init__(self, horse: str, as_of: object) -> None:
        super().__init__(
            f"{horse} has no flat run with a margin and a weight before {as_of}, so no figure can be given; "
            "choose a later day, or add the results of its runs"
        )


class FitNewerError(UpsidesError):
    """A fit was written by a newer version of this program."""

    def __init__(self, where: object, found: int, known: int) -> None:
        super().__init__(
            f"the fit {where} has format {found} and this program knows up to {known}; "
            "update upsides, or make the fit again"
        )


# results --------------------------------------------------------------------------------------------------------------


class LibraryMissingError(UpsidesError):
    """There is no library of results in the folder that was named."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"no library of results in {folder}; name the right folder, or fill one with `upsides results add`"
        )


class LibraryNewerError(UpsidesError):
    """The library was written by a newer version of this program."""

    def __init__(self, folder: object, found: object, known: int) -> None:
        super().__init__(
            f"the library in {folder} has format {found!r}, this program knows up to {known}; "
            "upgrade upsides, or name another library"
        )


class LibraryBusyError(UpsidesError):
    """Another process is writing to the library."""

    def __init__(self, folder: object, holder: str) -> None:
        super().__init__(
            f"the library in {folder} is being written by {holder}; wait until that import ends, then try again"
        )


class ShapeError(UpsidesError):
    """A shape file says something that cannot be used.

    Args:
        file: the shape file.
        key: the key at fault, with dots, or "" for the whole file.
        reason: what is wrong with it.
        remedy: what to write instead.
    """

    def __init__(self, file: object, key: str, reason: str, remedy: str) -> None:
        where = f"shape {file}, key {key}" if key else f"shape {file}"
        super().__init__(f"{where}: {reason}; {remedy}")
        self.file, self.key, self.reason, self.remedy = str(file), key, reason, remedy


class FileUnreadableError(UpsidesError):
    """A file of results that cannot be used at all, so that nothing of it was taken.

    Args:
        file: the file.
        reason: what is wrong with it.
        remedy: what to do about it.
    """

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(f"{file}: {reason}; {remedy}")
        self.file, self.reason, self.remedy = str(file), reason, remedy


class HorseUnknownError(UpsidesError):
    """No horse in the library answers to what was typed."""

    def __init__(self, text: str, near: list[str]) -> None:
        hint = f"near to it: {', '.join(near)}" if near else "try part of its name, or its number in the source"
        super().__init__(f"no horse {text!r} in the library; {hint}")
        self.text, self.near = text, near


class HorseAmbiguousError(UpsidesError):
    """Several horses answer to what was typed; the candidates are listed."""

    def __init__(self, text: str, candidates: list[str]) -> None:
        super().__init__(
            f"{len(candidates)} horses answer to {text!r}: {'; '.join(candidates)}. "
            "Give the number, or the name with its country suffix"
        )
        self.text, self.candidates = text, candidates


class IdentityError(UpsidesError):
    """Two horses that cannot be linked, or a link that cannot be undone."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(f"{reason}; {remedy}")
        self.reason, self.remedy = reason, remedy


# books ----------------------------------------------------------------------------------------------------------------


class BooksOpenError(UpsidesError):
    """The books of one library are open and those of another were asked for in the same process."""

    def __init__(self, opened: object, wanted: object) -> None:
        super().__init__(f"the books in {opened} are open in this process; open those in {wanted} in another process")
        self.opened, self.wanted = opened, wanted
