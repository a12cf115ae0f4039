"""Keys with which devices send recordings: made, shown once, ended."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from upsides.books.models import Device
from upsides.books.queries.devices import UPLOAD_PREFIX
from upsides.books.queries.devices import upload_keys as keys_of
from upsides.books.services.devices import add_upload_key, revoke
from upsides.errors import UpsidesError
from upsides.web.recordings.asking import KeyForm
from upsides.web.recordings.sentences import about_keys
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


@never_cache
def upload_keys(request: VisitedRequest) -> HttpResponse:
    """Show the keys, and make one; it is shown on the answer, and nowhere else."""
    moment = moment_of(request)
    form, token = KeyForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        try:
            _key, token = add_upload_key(form.cleaned_data["name"], request.visitor.person)
            form = KeyForm()
        except UpsidesError as error:
            form.add_error("name", told(error))
    keys = keys_of(moment)
    context = {"moment": moment, "keys": keys, "form": form, "token": token, "sentence": about_keys(len(keys))}
    context |= {"address": request.build_absolute_uri(reverse("recordings_send"))}
    return render(request, "recordings/keys.html", context, status=400 if form.errors else 200)


@require_POST
def upload_key_end(request: VisitedRequest, number: int) -> HttpResponse:
    """End a key."""
    key = get_object_or_404(Device, pk=number, token_hash__startswith=UPLOAD_PREFIX)
    revoke(key)
    messages.success(request, _("The key of %(name)s has ended.") % {"name": key.name})
    return redirect("upload_keys")
