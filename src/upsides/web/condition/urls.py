"""Addresses of condition."""

from django.urls import path

from upsides.web.condition import look_views, views
from upsides.web.shell.access import INSIDE, SIGNED_IN, Roles

urlpatterns = [
    path("horse/<int:number>/condition/", views.horse_condition, name="horse_condition"),
    path("look-at/", look_views.whom_to_look_at, name="look_at"),
    path("look-at.pdf", look_views.look_at_sheet, name="look_at_sheet"),
]

ACCESS: dict[str, Roles] = {"horse_condition": SIGNED_IN, "look_at": INSIDE, "look_at_sheet": INSIDE}
