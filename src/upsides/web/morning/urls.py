"""Addresses: the morning, the evening list, lots."""

from django.urls import path

from upsides.books.diary.work import ORDERERS
from upsides.web.morning import printed, views
from upsides.web.shell.access import EVERY_HORSE, SIGNED_IN, Roles

urlpatterns = [
    path("", views.morning, name="morning"),
    path("morning.pdf", printed.morning_sheet, name="morning_sheet"),
    path("checks.pdf", printed.checks_sheet, name="checks_sheet"),
    path("more/", views.more, name="more"),
    path("lots/", views.lots, name="lots"),
    path("lots/done/", views.lot_done, name="lot_done"),
    path("evening/", views.evening, name="evening"),
    path("evening/make/", views.evening_make, name="evening_make"),
    path("evening/<int:number>/", views.evening_horse, name="evening_horse"),
    path("evening.pdf", printed.evening_sheet, name="evening_sheet"),
]

ACCESS: dict[str, Roles] = {
    "morning": SIGNED_IN,
    "more": SIGNED_IN,
    "morning_sheet": EVERY_HORSE,
    "checks_sheet": EVERY_HORSE,
    "lots": EVERY_HORSE,
    "lot_done": ORDERERS,
    "evening": ORDERERS,
    "evening_make": ORDERERS,
    "evening_horse": ORDERERS,
    "evening_sheet": EVERY_HORSE,
}
