"""All messages of one number in a file, as columns."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit.definitions import BASE_TYPES, Definition, Field
from upsides.recordings.formats.fit.profile import Spec
from upsides.recordings.formats.fit.walking import Walk

STRING = 7
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Part:
    """Messages of one definition.

    Attributes:
        definition: what they hold.
        rows: (k, size) their bytes.
        index: (k,) which of all messages of their number they are.
    """

    definition: Definition
    rows: NDArray[np.uint8]
    index: NDArray[np.int64]

    def values(self, field: Field, base: int) -> Floats:
        """Return (k, c) raw numbers of a field, NaN where its number stands for nothing; c is 0 where none fits."""
        code, nothing = BASE_TYPES.get(base, ("S", None))
        width = int(code[1:] or 0)
        count = field.size // width if width and field.size % width == 0 else 0
        if not count:
            return np.empty((len(self.rows), 0))
        lying = np.ascontiguousarray(self.rows[:, field.start : field.start + field.size])
        raw = lying.view(self.definition.order + code)
        told = raw.astype(np.float64)
        told[~np.isfinite(told) if nothing is None else raw == nothing] = np.nan
        return told


@dataclass(frozen=True, slots=True)
class Messages:
    """The n messages of one number, in the order of the file.

    Attributes:
        parts: by definition.
        places: (n,) where each begins.
    """

    parts: tuple[Part, ...]
    places: NDArray[np.int64]

    def __len__(self) -> int:
        return self.places.size

    def column(self, spec: Spec) -> Floats:
        """Return (n,) values of a field, the first ones where it is an array; NaN where there is none."""
        told = np.full(len(self), np.nan)
        for part in self.parts:
            field = part.definition.fields.get(spec.number)
            if field is None or not (raw := part.values(field, field.base)).shape[1]:
                continue
            if len(self.parts) == 1:
                told = raw[:, 0]
            else:
                told[part.index] = raw[:, 0]
        return told / spec.scale - spec.offset

    def arrays(self, *numbers: int) -> Iterator[tuple[Part, list[Floats]]]:
        """Yield parts that have all of these fields, with (k, c) values of each, c values of a message."""
        for part in self.parts:
            fields = [part.definition.fields.get(number) for number in numbers]
            told = [part.values(field, field.base) for field in fields if field is not None]
            if len(told) == len(numbers) and min(raw.shape[1] for raw in told):
                yield part, told

    def texts(self, number: int) -> list[str]:
        """Return n texts of a field, "" where there is none."""
        told = [""] * len(self)
        for part in self.parts:
            field = part.definition.fields.get(number)
            if field is not None and field.base == STRING:
                for index, row in zip(part.index, part.rows, strict=True):
                    written = row[field.start : field.start + field.size].tobytes()
                    told[index] = written.split(b"\0")[0].decode("utf-8", "replace").strip()
        return told


def messages_of(walk: Walk, number: int) -> Messages:
    """Return the messages of one number of the profile."""
    found = [(told, np.frombuffer(places, dtype=np.int64)) for told, places in walk.found.values() if places]
    found = [(told, places) for told, places in found if told.number == number]
    if not found:
        return Messages((), np.empty(0, dtype=np.int64))
    everywhere = np.concatenate([places for _, places in found])
    order = np.argsort(everywhere, kind="stable")
    rank = np.empty(order.size, dtype=np.int64)
    rank[order] = np.arange(order.size)
    parts, before = [], 0
    for told, places in found:
        parts.append(Part(told, _rows(walk.data, places, told.size), rank[before : before + places.size]))
        before += places.size
    return Messages(tuple(parts), everywhere[order])


def _rows(data: bytes, places: NDArray[np.int64], size: int) -> NDArray[np.uint8]:
    """Return (k, size) bytes of k messages, without a copy where they lie at equal distances."""
    seen = np.frombuffer(data, dtype=np.uint8)
    steps = np.diff(places)
    if steps.size and (steps == steps[0]).all():
        step = int(steps[0])
        return np.lib.stride_tricks.as_strided(seen[places[0] :], (places.size, size), (step, 1), writeable=False)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(seen, size)[places])
