"""Addresses of photographs."""

from django.urls import path

from upsides.web.pictures import views
from upsides.web.shell.access import SIGNED_IN, Roles

urlpatterns = [
    path("horse/<int:number>/pictures/", views.pictures, name="pictures"),
    path("photo/<str:sha256>.jpg", views.photo, name="photo"),
    path("photo/<str:sha256>/small.jpg", views.photo_small, name="photo_small"),
]

ACCESS: dict[str, Roles] = {"pictures": SIGNED_IN, "photo": SIGNED_IN, "photo_small": SIGNED_IN}
"""Owners see those of their own horses that may be shown to them; every view looks at that itself."""
