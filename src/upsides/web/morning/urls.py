"""Addresses: the morning, the evening list, lots."""

from django.urls import path

from upsides.books.diary.work import ORDERERS
from upsides.web.morning import lot_views, printed, views
from upsides.web.shell.access import EVERY_HORSE, SIGNED_IN, Roles

urlpatterns = [
    path("", views.morning, name="morning"),
    path("morning.pdf", printed.morning_sheet, name="morning_sheet"),
    path("checks.pdf", printed.checks_sheet, name="checks_sheet"),
    path("more/", views.more, name="more"),
    path("lots/", views.lots, name="lots"),
    path("lots/done/", views.lot_done, name="lot_done"),
    path("lots/plan/", lot_views.plan, name="lots_plan"),
    path("lots/plan/ask/", lot_views.plan_ask, name="lots_plan_ask"),
    path("lots/plan/stop/", lot_views.plan_stop, name="lots_plan_stop"),
    path("lots/plan/take/", lot_views.plan_take, name="lots_plan_take"),
    path("lots/board/", lot_views.board, name="lots_board"),
    path("lots/own/", lot_views.own, name="lots_own"),
    path("lots/own/done/", lot_views.done, name="lots_ride_done"),
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
    "lots_plan": ORDERERS,
    "lots_plan_ask": ORDERERS,
    "lots_plan_stop": ORDERERS,
    "lots_plan_take": ORDERERS,
    "lots_board": ORDERERS,
    "lots_own": EVERY_HORSE,
    "lots_ride_done": EVERY_HORSE,
    "evening": ORDERERS,
    "evening_make": ORDERERS,
    "evening_horse": ORDERERS,
    "evening_sheet": EVERY_HORSE,
}
