"""Photographs of a horse, and their files."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render

from upsides.books.queries import moments
from upsides.books.queries.photos import file_of
from upsides.books.services.photos import add_pictures, small_picture
from upsides.errors import UpsidesError
from upsides.web.diary.forms import client_id, device_for
from upsides.web.pictures.files import answer_with, open_photo
from upsides.web.pictures.forms import SAID, seen_at, sent_files
from upsides.web.pictures.pages import horse_for, pictures_page
from upsides.web.pictures.sentences import kept
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told


def pictures(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the pictures of a horse that the visitor may see; take in new ones."""
    if request.method == "POST":
        return _take_in(request, number)
    moment = moment_of(request)
    page = pictures_page(horse_for(request.visitor, number, moment), moment, request.visitor)
    return render(request, "pictures/pictures.html", page)


def _take_in(request: VisitedRequest, horse_number: int) -> HttpResponse:
    now, who, typed = moments.now(), request.visitor, request.POST
    horse = horse_for(who, horse_number, now)
    said = {name: typed.get(name, "") for name in SAID}
    try:
        number, seen, files = client_id(typed), seen_at(typed, horse), sent_files(request)
        entries = add_pictures(horse, files, said, who.person, device_for(request), page=number, seen=seen)
    except UpsidesError as error:
        page = pictures_page(horse, now, who, typed, told(error))
        return render(request, "pictures/pictures.html", page, status=400)
    messages.success(request, kept(horse.name, len(entries)))
    return redirect("pictures", horse_number)


def photo(request: VisitedRequest, sha256: str) -> HttpResponseBase:
    """Answer with the file of a picture."""
    open_photo(request.visitor, sha256)
    return answer_with(request, sha256, file_of)


def photo_small(request: VisitedRequest, sha256: str) -> HttpResponseBase:
    """Answer with the small picture of one."""
    open_photo(request.visitor, sha256)
    return answer_with(request, f"{sha256}-small", lambda _name: small_picture(sha256))
