"""Addresses of plans."""

from django.urls import path

from upsides.web.planning import views
from upsides.web.shell.access import EVERY_HORSE, INSIDE, SIGNED_IN, Roles

urlpatterns = [
    path("horse/<int:number>/plan/", views.horse_plan, name="horse_plan"),
    path("plan/", views.string_plan, name="string_plan"),
    path("plan/again/", views.plan_again, name="plan_again"),
]

ACCESS: dict[str, Roles] = {"horse_plan": SIGNED_IN, "string_plan": EVERY_HORSE, "plan_again": INSIDE}
