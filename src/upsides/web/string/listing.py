"""The string's list, ready for its template."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from django.http import QueryDict
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from upsides.books.queries.finding import found
from upsides.books.queries.string import Listed, String
from upsides.web.string.asking import Asked, asked_of, written_sort
from upsides.web.string.choices import choices, ticks
from upsides.web.string.columns import COLUMNS, Column, in_order
from upsides.web.string.sentences import about_found, about_string, age_and_sex, unnamed_words


@dataclass(frozen=True, slots=True)
class Heading:
    """The heading of a column.

    Args:
        key: the column's.
        words: what it is called.
        sorted: "ascending", "descending", or empty where the list is sorted by another.
        next: the order that pressing it asks for.
        next_words: the same in words.
    """

    key: str
    words: str | Promise
    sorted: str
    next: str
    next_words: str


def listing(string: String, query: QueryDict, back: str) -> dict[str, Any]:
    """Return what the list's template needs.

    Args:
        string: the horses that the visitor may see.
        query: of the address.
        back: what links add, so that they stay at the moment that the page looks from.
    """
    asked = asked_of(query, figures=string.figures)
    shown = in_order(found(string.listed, asked.wanted), asked.column, falling=asked.falling)
    return {
        "string": string,
        "asked": asked,
        "sentence": about_string(string, asked.status),
        "found": about_found(len(shown), len(string.listed)),
        "headings": [_heading(column, asked) for column in (COLUMNS["name"], *asked.columns)],
        "rows": rows_of(shown, asked.columns, back),
        "choices": choices(string.listed, asked),
        "ticks": ticks(asked),
    }


def rows_of(shown: Iterable[Listed], columns: tuple[Column, ...], back: str) -> list[SafeString]:
    """Return horses as rows of these columns, each one piece: a list has a thousand cells, and templates are slow."""
    starts = [_start(column) for column in columns]
    before, after = reverse("horse", args=[0]).split("0")  # once: a list asks for a hundred addresses
    return [
        _row(f"{before}{one.horse.pk}{after}{back}", one, starts, [column.cell(one) for column in columns])
        for one in shown
    ]


def _heading(column: Column, asked: Asked) -> Heading:
    """Return a heading that turns the order round, or starts with what is looked for first: best, latest, A."""
    falling = not asked.falling if column is asked.column else column.falling_first
    now = ("descending" if asked.falling else "ascending") if column is asked.column else ""
    return Heading(
        column.key,
        column.words,
        now,
        written_sort(column, falling=falling),
        column.order_words(falling=falling),
    )


def _start(column: Column) -> SafeString:
    return format_html('<td role="cell" class="{}" data-label="{}">', column.key, column.words)


def _row(address: str, one: Listed, starts: Sequence[str], cells: Sequence[str]) -> SafeString:
    """Return a row, what is not safe escaped."""
    told = (cell if isinstance(cell, SafeString) else escape(cell) for cell in cells)
    rest = "".join(f"{start}{cell}</td>" for start, cell in zip(starts, told, strict=True))
    words = age_and_sex if one.horse.named else unnamed_words
    name, who = escape(one.horse.name), escape(words(one.age, one.horse.sex))
    head = f'<a href="{escape(address)}">{name}</a> <span class="who">{who}</span>'
    whole = f'<tr role="row"><th role="rowheader" scope="row">{head}</th>{rest}</tr>\n'
    return mark_safe(whole)  # noqa: S308 (each part is safe or escaped in the lines above)
