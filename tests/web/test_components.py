import re
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django import forms
from django.template import engines
from django.test import RequestFactory
from django.utils.safestring import mark_safe

from upsides.books.models import Person, Role
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor

NOW, THEN = Moment(date(2026, 6, 20)), Moment(date(2026, 6, 1), datetime(2026, 6, 1, 16, 30, tzinfo=UTC))


class Weighing(forms.Form):
    """A form with a field of each sort."""

    weight = forms.DecimalField(label="Weight, kg", help_text="Without tack.")
    keep = forms.BooleanField(label="Keep it")
    legs = forms.MultipleChoiceField(label="Legs", choices=[("n", "near fore")], widget=forms.CheckboxSelectMultiple)
    secret = forms.CharField(widget=forms.HiddenInput)


def shown(source: str, **context: Any) -> str:
    request = RequestFactory().get("/somewhere/", {"sex": "colt", "as_of": "2026-06-01T17:30"})
    template = engines["django"].from_string("{% load components %}" + source)
    return re.sub(r"[ \n]+", " ", template.render({"request": request, **context}, None))


def as_somebody(*roles: Role) -> Visitor:
    return Visitor(Person(pk=1, name="Somebody"), frozenset(roles), barn=False)


def test_a_field_has_its_label_hint_and_fault() -> None:
    """The control is named by its label and described by its hint and by what is wrong with it."""
    html = shown("{% field form.weight %}", form=Weighing({"weight": "x"}))
    assert '<label for="id_weight">Weight, kg</label>' in html
    assert 'aria-describedby="id_weight_helptext id_weight_error"' in html
    assert 'aria-invalid="true"' in html
    assert re.search(r'id="id_weight_helptext">Without tack\.<', html)
    assert re.search(r'<ul class="errors" id="id_weight_error"><li>Enter a number\.</li></ul>', html)


def test_a_tick_stands_before_its_words() -> None:
    """A single checkbox comes before its label, which belongs to it."""
    html = shown("{% field form.keep %}", form=Weighing())
    assert html.index('type="checkbox"') < html.index('<label for="id_keep">Keep it</label>')


def test_several_controls_are_one_group() -> None:
    """Several boxes stand in a group named by the field's label, and each is named by its own."""
    html = shown("{% field form.legs %}", form=Weighing({}))
    assert "<legend>Legs</legend>" in html
    assert re.search(r'<fieldset class="field wrong" aria-describedby="id_legs_error">', html)
    assert "near fore</label>" in html


def test_a_hidden_field_is_only_itself() -> None:
    """A field that nobody sees brings no label."""
    assert (
        shown("{% field form.secret %}", form=Weighing()).strip()
        == '<input type="hidden" name="secret" id="id_secret">'
    )


def test_a_table_stays_a_table_as_cards() -> None:
    """Roles say what a block is once it is no table to the eye; the first cell names its row; numbers are marked."""
    rows = [["3 May", 482, "<b>"], ["4 May", 480, mark_safe("<i>ok</i>")]]
    html = shown("{% table heads rows 'Weights' %}", heads=["Day", ("Weight, kg", "number"), "Note"], rows=rows)
    assert "<caption>Weights</caption>" in html
    assert html.count('role="row"') == 3
    assert '<th role="columnheader" scope="col" class="number">Weight, kg</th>' in html
    assert '<th role="rowheader" scope="row">3 May</th>' in html
    assert '<td role="cell" data-label="Weight, kg" class="number">482</td>' in html
    assert "&lt;b&gt;" in html
    assert "<i>ok</i>" in html


def test_a_table_refuses_rows_that_do_not_fit() -> None:
    """A row with a cell too few is a mistake of the page, not a shifted table."""
    with pytest.raises(ValueError, match="shorter"):
        shown("{% table heads rows %}", heads=["Day", "Weight"], rows=[["3 May"]])


def test_a_chart_is_drawn_already_and_says_where_it_is_described() -> None:
    """The pictures stand in the page; the address of the specification stands on the figure."""
    pictures = {"wide": mark_safe("<svg>w</svg>"), "narrow": mark_safe("<svg>n</svg>")}
    html = shown("{% chart pictures '/curve.json' 'How it went' %}", pictures=pictures)
    assert '<figure class="chart" data-spec="/curve.json">' in html
    assert '<div class="wide"><svg>w</svg></div><div class="narrow"><svg>n</svg></div>' in html
    assert "<figcaption>How it went</figcaption>" in html
    assert "data-spec" not in shown("{% chart picture %}", picture=mark_safe("<svg/>"))


@pytest.mark.parametrize(("role", "opens"), [(Role.TRAINER, True), (Role.RIDER, False)])
def test_a_person_is_a_link_for_those_who_may_open_it(role: Role, opens: bool) -> None:  # noqa: FBT001
    """Who may not open a person's page sees the name alone."""
    html = shown("{% person p %}", p=Person(pk=7, name="A & B"), visitor=as_somebody(role))
    assert html == ('<a href="/person/7/">A &amp; B</a>' if opens else "A &amp; B")


def test_nobody_and_the_erased_are_said_in_words() -> None:
    """Where there is no person, or one whose name was removed, the page says so."""
    assert ">nobody<" in shown("{% person p %}", p=None)
    assert ">name removed<" in shown("{% person p %}", p=Person(pk=7, name="x", erased_at=datetime.now(UTC)))


@pytest.mark.parametrize(
    ("when", "style", "exact", "words"),
    [
        (date(2026, 5, 3), "", "2026-05-03", "3\u00a0May\u00a02026"),
        (date(2026, 5, 3), "short", "2026-05-03", "3\u00a0May\u00a026"),
        (date(2026, 5, 3), "weekday", "2026-05-03", "Sun\u00a03\u00a0May\u00a02026"),
        # London keeps summer time from the last Sunday of March: 23:30 UTC on 2 May is 00:30 on the 3rd.
        (datetime(2026, 5, 2, 23, 30, tzinfo=UTC), "", "2026-05-03T00:30+01:00", "3\u00a0May\u00a02026, 00:30"),
    ],
)
def test_a_day_is_the_yards_own(when: date, style: str, exact: str, words: str) -> None:
    """A day is written out, a moment in the yard's own time, both exactly for machines."""
    from upsides.books.models import Yard

    html = shown("{% day when style %}", when=when, style=style, yard=Yard(zone="Europe/London"))
    assert html == f'<time datetime="{exact}">{words}</time>'
    assert shown("{% day when %}", when=None) == "–"


def test_what_holds_only_now_is_left_out_of_an_earlier_moment() -> None:
    """A button stands in an element of its own now, and nowhere on a page that looks back."""
    source = "{% live %}<button>Save</button>{% endlive %}"
    assert shown(source, moment=NOW) == '<div class="live"><button>Save</button></div>'
    assert shown(source) == '<div class="live"><button>Save</button></div>'
    assert shown(source, moment=THEN) == ""
    assert shown('{% live "span" %}x{% endlive %}') == '<span class="live">x</span>'


def test_the_form_for_an_earlier_moment_keeps_the_rest_of_the_address() -> None:
    """What else the address says is sent along, and the moment looked at stands in the field, in the yard's time."""
    from upsides.books.models import Yard

    html = shown("{% as_of_form %}", moment=THEN, yard=Yard(zone="Europe/London"))
    assert 'method="get" action="/somewhere/"' in html
    assert '<input type="hidden" name="sex" value="colt">' in html
    assert html.count('name="as_of"') == 1
    assert 'value="2026-06-01T17:30"' in html
    assert "value=" not in shown("{% as_of_form %}", moment=NOW, request=RequestFactory().get("/")).split("as_of")[-1]
