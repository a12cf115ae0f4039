"""The store: feeds, deliveries, batches, and who ate them."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Feed, FeedBatch
from upsides.books.queries import moments
from upsides.books.queries.feeding import feeds
from upsides.books.queries.moments import Moment
from upsides.books.services.feed_store import deliver, mark, write_feed, write_feed_times
from upsides.errors import UpsidesError
from upsides.web.feeding.forms import ChangeForm, DeliveryForm, LabelForm, MarksForm
from upsides.web.feeding.store_page import batch_page, feed_page, label_initial, store_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there


def feed_store(request: VisitedRequest) -> HttpResponse:
    """Show what is in store and when to order."""
    return _store(request, moment_of(request), LabelForm())


@require_POST
def feed_new(request: VisitedRequest) -> HttpResponse:
    """Put a feed on the list."""
    form = LabelForm(request.POST)
    if form.is_valid():
        try:
            made = write_feed(form.typed(), request.visitor.person)
        except UpsidesError as error:
            form.add_error(None, told(error))
        else:
            messages.success(request, _("%(feed)s is on the list.") % {"feed": made.name})
            return redirect("feed", made.pk)
    return _store(request, moments.now(), form)


def _store(request: VisitedRequest, moment: Moment, form: LabelForm) -> HttpResponse:
    page = store_page(request, moment) | {"form": form, "back": back_there(request)}
    return render(request, "feeding/store.html", page, status=400 if form.errors else 200)


@require_POST
def feed_times(request: VisitedRequest) -> HttpResponse:
    """Name the yard's feed times."""
    write_feed_times(request.POST.get("times", "").split(","), request.visitor.person)
    messages.success(request, _("The yard's feed times are as written."))
    return redirect("feed_store")


def feed(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one feed and its deliveries, and change what its label says."""
    moment = moments.now() if request.method == "POST" else moment_of(request)
    row = _feed(number, moment)
    form = ChangeForm(request.POST or None, initial=label_initial(row))
    if request.method == "POST" and form.is_valid():
        try:
            write_feed(form.label_typed(), request.visitor.person, get_object_or_404(Feed, pk=number))
        except UpsidesError as error:
            form.add_error(None, told(error))
        else:
            messages.success(request, _("The label is as written."))
            return redirect("feed", number)
    return _one(request, moment, row, form, DeliveryForm(initial={"delivered_on": moment.day}))


@require_POST
def feed_deliver(request: VisitedRequest, number: int) -> HttpResponse:
    """Write down a delivery."""
    moment, form = moments.now(), DeliveryForm(request.POST)
    row = _feed(number, moment)
    if form.is_valid():
        given = form.cleaned_data
        try:
            deliver(row, given["number"], given["delivered_on"], given["kg"], request.visitor.person)
        except UpsidesError as error:
            form.add_error(None, told(error))
        else:
            messages.success(request, _("The delivery is written down. Mark it as opened when it is."))
            return redirect("feed", number)
    return _one(request, moment, row, ChangeForm(initial=label_initial(row)), form)


def _one(request: VisitedRequest, moment: Moment, row: Feed, form: ChangeForm, delivery: DeliveryForm) -> HttpResponse:
    page = feed_page(moment, row) | {"form": form, "delivery": delivery, "back": back_there(request)}
    return render(request, "feeding/feed.html", page, status=400 if form.errors or delivery.errors else 200)


def feed_batch(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one batch, and which horses ate of it."""
    moment = moment_of(request)
    batch = moments.rows(FeedBatch, moment).filter(id=number).first()
    if batch is None:
        raise Http404(_("There is no batch %(number)s.") % {"number": number})
    page = batch_page(request, moment, batch, _feed(batch.feed_id, moment))
    marks = MarksForm(initial={"opened_on": batch.opened_on, "finished_on": batch.finished_on})
    return render(request, "feeding/batch.html", page | {"form": marks, "back": back_there(request)})


@require_POST
def feed_batch_mark(request: VisitedRequest, number: int) -> HttpResponse:
    """Write down when a batch was opened and finished."""
    moment, form = moments.now(), MarksForm(request.POST)
    batch = get_object_or_404(FeedBatch, pk=number)
    if form.is_valid():
        try:
            mark(batch, form.cleaned_data["opened_on"], form.cleaned_data["finished_on"], request.visitor.person)
        except UpsidesError as error:
            form.add_error(None, told(error))
        else:
            messages.success(request, _("The batch is as written."))
            return redirect("feed_batch", number)
    page = batch_page(request, moment, batch, _feed(batch.feed_id, moment))
    return render(request, "feeding/batch.html", page | {"form": form, "back": ""}, status=400)


def _feed(number: int, moment: Moment) -> Feed:
    found = feeds(moment).get(number)
    if found is None:
        raise Http404(_("There is no feed %(number)s.") % {"number": number})
    return found
