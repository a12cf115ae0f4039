"""Addresses of races."""

from django.urls import path

from upsides.web.races import views
from upsides.web.shell.access import SIGNED_IN, Roles

urlpatterns = [path("race/<str:race_key>/", views.race, name="race")]

ACCESS: dict[str, Roles] = {"race": SIGNED_IN}
