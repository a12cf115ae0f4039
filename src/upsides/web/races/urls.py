"""Addresses of races."""

from django.urls import path

from upsides.web.races import views

urlpatterns = [path("race/<str:race_key>/", views.race, name="race")]
