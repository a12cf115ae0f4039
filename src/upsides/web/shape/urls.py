"""Addresses of the shape of a horse."""

from django.urls import path

from upsides.web.shape import views
from upsides.web.shell.access import EVERY_HORSE, Roles

urlpatterns = [
    path("horse/<int:number>/shape/", views.shape, name="shape"),
    path("horse/<int:number>/shape/score/", views.shape_score, name="shape_score"),
]

ACCESS: dict[str, Roles] = {"shape": EVERY_HORSE, "shape_score": EVERY_HORSE}
