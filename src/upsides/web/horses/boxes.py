"""The boxes in walking order, a horse put into one, boxes added and changed."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Box, Horse, Stand
from upsides.books.queries import walk as walks
from upsides.books.queries.moments import Moment, now
from upsides.books.services import boxes as writes
from upsides.books.services.meanwhile import last_change
from upsides.errors import (
    BoxRefusedError,
    BoxTakenError,
    ChangedMeanwhileError,
    LineRefusedError,
    MovedMeanwhileError,
    UnreadableError,
)
from upsides.errors.wording import gettext
from upsides.web.horses import sentences
from upsides.web.horses.box_forms import BoxesForm, BoxForm, DayForm, PutForm, wanted_walk
from upsides.web.horses.forms import typed_again
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def walk(request: VisitedRequest) -> HttpResponse:
    """Show every box in walking order, with who stands there on a day."""
    moment = moment_of(request)
    on = _on(request, moment)
    found = walks.walk(on)
    page: dict[str, Any] = {"moment": moment, "walk": found, "day": on.day, "today": moment.day}
    page |= {"sentence": sentences.about_walk(found, moment.day), "tomorrow": moment.day + timedelta(days=1)}
    roles = request.visitor.roles
    page |= {"moves": may_open("horse_box", roles), "changes": may_open("boxes_new", roles)}
    return render(request, "horses/boxes.html", page)


def put(request: VisitedRequest, number: int) -> HttpResponse:
    """Choose the box of a horse from a day on; a box that is taken asks whether to swap."""
    horse = get_object_or_404(Horse, pk=number)
    if request.method != "POST":
        present = now()
        return _choosing(request, horse, _on(request, replace(present, day=max(present.day, horse.joined))))
    form = PutForm(request.POST)
    if not form.is_valid():
        raise LineRefusedError("", gettext("that page could not be read"), gettext("load it again"))
    asked = form.asked(number)
    try:
        writes.put(asked, request.visitor.person)
    except (BoxTakenError, MovedMeanwhileError, LineRefusedError) as error:
        return _choosing(request, horse, Moment(asked.day), error, asked)
    messages.success(request, _done(horse, asked))
    return redirect(f"{reverse('boxes')}{_day_part(asked)}{f'#box-{asked.box}' if asked.box else ''}")


@require_POST
def stand_out(request: VisitedRequest, number: int, stand: int) -> HttpResponse:
    """Take a line of a horse's boxes out."""
    row = get_object_or_404(Stand, pk=stand, horse=number)
    writes.take_out_stand(row.pk, _seen(request), request.visitor.person)
    return redirect("horse_about", number)


def new(request: VisitedRequest) -> HttpResponse:
    """Add boxes to a barn."""
    form = BoxesForm(request.POST or None)
    if form.is_valid():
        try:
            made = writes.add_boxes(by=request.visitor.person, **form.cleaned_data)
        except BoxRefusedError as error:
            form.add_error(error.field if error.field in form.fields else None, told(error))
        else:
            messages.success(request, sentences.added_words(made))
            return redirect("boxes")
    return _box_page(request, form, None)


def change(request: VisitedRequest, number: int) -> HttpResponse:
    """Call a box something else, or take it away."""
    box = get_object_or_404(Box, pk=number)
    start = {"barn": box.barn, "name": box.name, "isolation": box.isolation, "seen": last_change(box)}
    form = BoxForm(request.POST or None, initial=start)
    if form.is_valid():
        given = dict(form.cleaned_data)
        try:
            writes.change_box(number, given.pop("seen") or 0, request.visitor.person, **given)
        except BoxRefusedError as error:
            form.add_error(error.field if error.field in form.fields else None, told(error))
        except ChangedMeanwhileError as error:
            form = BoxForm(typed_again(form, last_change(box)))
            form.add_error(None, told(error))
        else:
            return redirect("boxes")
    return _box_page(request, form, box)


@require_POST
def out(request: VisitedRequest, number: int) -> HttpResponse:
    """Take a box away in which no horse ever stood."""
    get_object_or_404(Box, pk=number)
    writes.remove_box(number, _seen(request), request.visitor.person)
    return redirect("boxes")


def order(request: VisitedRequest) -> HttpResponse:
    """Put the walk in order: each box gets its place."""
    boxes = list(Box.objects.order_by("position", "barn", "name"))
    wrong = ""
    if request.method == "POST":
        try:
            writes.set_walk(*wanted_walk(request.POST), request.visitor.person)
        except (ChangedMeanwhileError, BoxRefusedError) as error:
            wrong = told(error)
        else:
            return redirect("boxes")
    return render(request, "horses/order.html", {"boxes": list(enumerate(boxes, 1)), "wrong": wrong})


def _on(request: VisitedRequest, moment: Moment) -> Moment:
    """Return the moment with the day that the address asks for."""
    text = request.GET.get("day", "").strip()
    if not text:
        return moment
    form = DayForm({"day": text})
    if not form.is_valid():
        raise UnreadableError(gettext("day"), text[:20], "2026-06-01")
    return replace(moment, day=form.cleaned_data["day"])


def _choosing(
    request: VisitedRequest,
    horse: Horse,
    on: Moment,
    error: BoxTakenError | MovedMeanwhileError | LineRefusedError | None = None,
    asked: writes.Put | None = None,
) -> HttpResponse:
    found = walks.walk(on)
    there = next((place for place in found.places if any(one.horse.pk == horse.pk for one in place.horses)), None)
    page: dict[str, Any] = {"horse": horse, "walk": found, "day": on.day, "there": there, "today": clock.today()}
    page |= {"tomorrow": clock.today() + timedelta(days=1), "sentence": sentences.about_put(horse, there, on.day)}
    page |= {"wrong": told(error) if error else "", "asked": asked}
    if isinstance(error, BoxTakenError) and asked:
        page["taken"] = error
        page["can_swap"] = error.day == asked.day
    return render(request, "horses/put.html", page)


def _done(horse: Horse, asked: writes.Put) -> str:
    """Return what was done: the two are said to change places where they did."""
    other = Horse.objects.filter(pk=asked.other or 0).first()
    if other and asked.taken is writes.Taken.SWAP:
        return sentences.swap_words(horse, other.name, asked.day)
    return sentences.put_words(horse, Box.objects.filter(pk=asked.box or 0).first(), asked.day)


def _day_part(asked: writes.Put) -> str:
    return "" if asked.day == clock.today() else f"?day={asked.day:%Y-%m-%d}"


def _seen(request: VisitedRequest) -> int:
    text = request.POST.get("seen", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0  # a number that a table can hold


def _box_page(request: VisitedRequest, form: BoxesForm | BoxForm, box: Box | None) -> HttpResponse:
    barns = list(dict.fromkeys(Box.objects.order_by("position").values_list("barn", flat=True)))
    seen = last_change(box) if box else 0
    stood = bool(box) and Stand.objects.filter(box=box).exists()
    return render(
        request, "horses/box_form.html", {"form": form, "box": box, "barns": barns, "seen": seen, "stood": stood}
    )
