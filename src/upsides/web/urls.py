"""Addresses of all pages."""

from django.urls import include, path

urlpatterns = [
    path("", include("upsides.web.string.urls")),
    path("", include("upsides.web.races.urls")),
]
