"""Addresses of pedigrees."""

from django.urls import path

from upsides.web.pedigree import views
from upsides.web.shell.access import SIGNED_IN, Roles

urlpatterns = [path("horse/<int:number>/pedigree/", views.pedigree, name="horse_pedigree")]

ACCESS: dict[str, Roles] = {"horse_pedigree": SIGNED_IN}
