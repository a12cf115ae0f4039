"""Addresses of the legs of a horse."""

from django.urls import path

from upsides.web.legs import views
from upsides.web.shell.access import EVERY_HORSE, Roles

urlpatterns = [path("horse/<int:number>/legs/", views.legs, name="legs")]

ACCESS: dict[str, Roles] = {"legs": EVERY_HORSE}
"""What was found on legs is for those who work in the yard or come there to work."""
