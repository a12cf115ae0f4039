"""Addresses: the stopwatch, and what a phone keeps of it."""

from django.urls import path

from upsides.books.diary.work import ORDERERS
from upsides.web.clock import views
from upsides.web.diary import phone
from upsides.web.shell.access import ANYONE, Roles

urlpatterns = [
    path("clock/", views.clock, name="clock"),
    path("clock/works.json", views.clock_works, name="clock_works"),
    path("clock/shell/", phone.kept_page, {"name": "clock"}, name="clock_shell"),
]

ACCESS: dict[str, Roles] = {"clock": ORDERERS, "clock_works": ORDERERS, "clock_shell": ANYONE}
