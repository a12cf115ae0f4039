"""Addresses of the string's pages."""

from django.urls import path

from upsides.web.shell.access import SIGNED_IN, Roles
from upsides.web.string import views

urlpatterns = [
    path("string/", views.string, name="string"),
    path("view/keep/", views.keep_view, name="keep_view"),
    path("view/<int:number>/forget/", views.drop_view, name="forget_view"),
    path("horse/<int:number>/", views.horse, name="horse"),
    path("horse/<int:number>/curve.json", views.horse_curve, name="horse_curve"),
]

ACCESS: dict[str, Roles] = {
    "string": SIGNED_IN,
    "keep_view": SIGNED_IN,
    "forget_view": SIGNED_IN,
    "horse": SIGNED_IN,
    "horse_curve": SIGNED_IN,
}
