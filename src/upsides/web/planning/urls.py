"""Addresses of plans, and of the path to the stalls."""

from django.urls import path

from upsides.books.diary.work import ORDERERS
from upsides.web.planning import stalls_views, views
from upsides.web.shell.access import EVERY_HORSE, INSIDE, SIGNED_IN, Roles

urlpatterns = [
    path("horse/<int:number>/plan/", views.horse_plan, name="horse_plan"),
    path("horse/<int:number>/plan/choose/", views.plan_choose, name="plan_choose"),
    path("horse/<int:number>/plan/move/", views.plan_move, name="plan_move"),
    path("horse/<int:number>/plan/back/", views.plan_back, name="plan_back"),
    path("horse/<int:number>/stalls/", stalls_views.horse_stalls, name="horse_stalls"),
    path("plan/", views.string_plan, name="string_plan"),
    path("plan/again/", views.plan_again, name="plan_again"),
    path("plan/stop/", views.plan_stop, name="plan_stop"),
]

ACCESS: dict[str, Roles] = {
    "horse_plan": SIGNED_IN,
    "plan_choose": ORDERERS,
    "plan_move": ORDERERS,
    "plan_back": ORDERERS,
    "horse_stalls": EVERY_HORSE,
    "string_plan": EVERY_HORSE,
    "plan_again": INSIDE,
    "plan_stop": INSIDE,
}
