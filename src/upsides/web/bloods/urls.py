"""Addresses of blood samples."""

from django.urls import path

from upsides.web.bloods import views
from upsides.web.shell.access import EVERY_HORSE, Roles

urlpatterns = [path("horse/<int:number>/bloods/", views.bloods, name="bloods")]

ACCESS: dict[str, Roles] = {"bloods": EVERY_HORSE}
"""Samples are for those who work in the yard or come there to work; who enters them the kind of entry says."""
