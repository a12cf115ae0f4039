"""Recordings on their way into the books, and the horses that they are of."""

from collections.abc import Sequence

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class NoRecordingsError(UpsidesError):
    """Nothing was given."""

    def __init__(self) -> None:
        super().__init__(_("no file was given; choose the files of trackers or heart monitors"))


class TooManyRecordingsError(UpsidesError):
    """More was given at once than is taken.

    Args:
        given: how much, in words.
        most: how much is taken, in words.
    """

    def __init__(self, given: str, most: str) -> None:
        super().__init__(
            _("{given} were given at once, and {most} are taken; give them in parts", given=given, most=most)
        )


class OriginalMissingError(UpsidesError):
    """The file of a recording is not where it was kept, or not as it was.

    Args:
        file: its name, as it came in.
        place: where it should be.
        reason: what is wrong.
    """

    def __init__(self, file: object, place: object, reason: str) -> None:
        super().__init__(
            _(
                "the recording {file}: {reason} ({place}); take the file out of the last good backup, and put it there",
                file=file,
                reason=reason,
                place=place,
            )
        )


class NotGivenError(UpsidesError):
    """A recording was to be taken from a horse, but is no horse's."""

    def __init__(self, file: object) -> None:
        super().__init__(
            _("the recording {file} is no horse's, so it cannot be taken from one; load the page again", file=file)
        )


class GivenError(UpsidesError):
    """A recording that is a horse's was to be set aside as nobody's."""

    def __init__(self, file: object) -> None:
        super().__init__(
            _("the recording {file} is a horse's, so it is not set aside; take it from that horse first", file=file)
        )


class NothingMeasuredError(UpsidesError):
    """A recording from which nothing can be said of a horse was to be given to one."""

    def __init__(self, file: object) -> None:
        super().__init__(
            _("the recording {file} has no times that could be used, so it says nothing of any horse", file=file)
        )


class UploadKeyNamelessError(UpsidesError):
    """A key for uploads was to be made without a name."""

    def __init__(self) -> None:
        super().__init__(_("a key needs a name; say which device or program will send with it"))


class GallopPointsError(UpsidesError):
    """A file out of which no gallop's line can be taken.

    Args:
        file: which.
        reason: what is wrong with it.
    """

    def __init__(self, file: object, reason: str) -> None:
        super().__init__(
            _(
                "{file}: {reason}; give a recording of a canter on the gallop, a GPX route, a CSV with columns "
                "latitude and longitude, or a TOML with points = [[latitude, longitude], ...]",
                file=file,
                reason=reason,
            )
        )


class MarksError(UpsidesError):
    """Marks of a gallop that cannot be.

    Args:
        marks: as typed.
        reason: what is wrong with them.
    """

    def __init__(self, marks: object, reason: str) -> None:
        super().__init__(
            _(
                "marks {marks!r}: {reason}; write furlongs, a step like 200m, or metres from the start like 0,200,400",
                marks=marks,
                reason=reason,
            )
        )


class YardHorseUnknownError(UpsidesError):
    """A name that is no horse's of the yard.

    Args:
        name: as typed.
        near: names like it.
    """

    def __init__(self, name: str, near: Sequence[str] = ()) -> None:
        offered = _("; did you mean {near}?", near=" or ".join(near)) if near else _("; write it as the yard does")
        super().__init__(_("no horse {name!r} in the books{offered}", name=name, offered=offered))
        self.name, self.near = name, tuple(near)


class TrackerNameError(UpsidesError):
    """A tracker that cannot be called so.

    Args:
        name: as typed.
        reason: why not.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(
            _("the tracker cannot be called {name!r}: {reason}; give it a name of its own", name=name, reason=reason)
        )
        self.name, self.reason = name, reason
