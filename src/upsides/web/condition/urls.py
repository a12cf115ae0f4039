"""Addresses of condition."""

from django.urls import path

from upsides.web.condition import call_views, look_views, past_days, views
from upsides.web.shell.access import INSIDE, SIGNED_IN, Roles

urlpatterns = [
    path("horse/<int:number>/condition/", views.horse_condition, name="horse_condition"),
    path("look-at/", look_views.whom_to_look_at, name="look_at"),
    path("look-at.pdf", look_views.look_at_sheet, name="look_at_sheet"),
    path("look-at/work-out/", past_days.work_out_day, name="work_out_day"),
    path("calls/", call_views.calls, name="calls"),
    path("calls/scores/", call_views.call_scores, name="call_scores"),
    path("calls/<int:number>/take-back/", call_views.call_take_back, name="call_take_back"),
    path("horse/<int:number>/call/", call_views.horse_call, name="horse_call"),
]

ACCESS: dict[str, Roles] = {
    "horse_condition": SIGNED_IN,
    "look_at": INSIDE,
    "look_at_sheet": INSIDE,
    "work_out_day": INSIDE,
    "calls": INSIDE,
    "call_scores": INSIDE,
    "call_take_back": INSIDE,
    "horse_call": INSIDE,
}
