"""What is done about a person's sign-in: letting in, PIN, closing, opening again, erasing."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Device, Person
from upsides.books.queries import moments
from upsides.books.services import people as writes
from upsides.books.services.devices import revoke
from upsides.errors import PinUnusableError
from upsides.web.people.forms import PinForm
from upsides.web.people.one import changeable, show
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told
from upsides.web.signin.invitations import invitation_lasts, invitation_path
from upsides.web.signin.second_factor import forget_second_factor


@require_POST
def invite(request: VisitedRequest, number: int) -> HttpResponse:
    """Make a link on which the person chooses a password, and show it once, to be handed over."""
    changeable(request.visitor, number)
    person = Person.objects.get(pk=number)
    link = request.build_absolute_uri(invitation_path(person))
    writes.remember(person, request.visitor.person, writes.INVITED)
    return render(request, "people/invited.html", {"person": person, "link": link, "days": invitation_lasts().days})


@require_POST
def set_pin(request: VisitedRequest, number: int) -> HttpResponse:
    """Give the person a new PIN."""
    shown = changeable(request.visitor, number)
    form = PinForm(request.POST)
    if form.is_valid():
        try:
            writes.set_pin(Person.objects.get(pk=number), form.cleaned_data["pin"], request.visitor.person)
        except PinUnusableError as error:
            form.add_error("pin", told(error))
        else:
            messages.success(request, _("%(name)s has a new PIN.") % {"name": shown.listed.name})
            return redirect("person", number)
    return show(request, number, moments.now(), form)


@require_POST
def clear_pin(request: VisitedRequest, number: int) -> HttpResponse:
    """Take the person's PIN away."""
    shown = changeable(request.visitor, number)
    writes.clear_pin(Person.objects.get(pk=number), request.visitor.person)
    messages.success(request, _("%(name)s has no PIN any more.") % {"name": shown.listed.name})
    return redirect("person", number)


@require_POST
def take_second_step(request: VisitedRequest, number: int) -> HttpResponse:
    """Let somebody who has lost phone and spare codes sign in with the password alone."""
    changeable(request.visitor, number)
    person = Person.objects.get(pk=number)
    writes.remember(person, request.visitor.person, writes.SECOND_STEP_TAKEN)
    forget_second_factor(person)
    messages.success(request, _("%(name)s signs in with the password alone now.") % {"name": person.name})
    return redirect("person", number)


@require_POST
def close(request: VisitedRequest, number: int) -> HttpResponse:
    """Close the person's sign-in."""
    shown = changeable(request.visitor, number)
    writes.close_sign_in(Person.objects.get(pk=number), request.visitor.person)
    messages.success(request, _("The sign-in of %(name)s is closed.") % {"name": shown.listed.name})
    return redirect("person", number)


@require_POST
def reopen(request: VisitedRequest, number: int) -> HttpResponse:
    """Open the person's sign-in again."""
    shown = changeable(request.visitor, number)
    writes.reopen_sign_in(Person.objects.get(pk=number), request.visitor.person)
    messages.success(request, _("The sign-in of %(name)s is open again.") % {"name": shown.listed.name})
    return redirect("person", number)


def erase(request: VisitedRequest, number: int) -> HttpResponse:
    """Say what erasing does; a POST does it."""
    shown = changeable(request.visitor, number)
    if request.method != "POST":
        return render(request, "people/erase.html", {"shown": shown, "one": shown.listed})
    writes.erase(Person.objects.get(pk=number), request.visitor.person)
    messages.success(request, _("Person %(number)s is erased.") % {"number": number})
    return redirect("people")


@require_POST
def end_device(request: VisitedRequest, number: int, device: int) -> HttpResponse:
    """End one of the person's phones or computers."""
    changeable(request.visitor, number)
    found = get_object_or_404(Device, pk=device, person=number)
    revoke(found)
    messages.success(request, _("%(device)s is ended.") % {"device": found.name})
    return redirect("person", number)
