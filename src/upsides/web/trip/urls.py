"""Addresses of trips and gene tests."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.shell.access import SIGNED_IN, Roles
from upsides.web.trip import views

TESTERS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.VET})

urlpatterns = [
    path("horse/<int:number>/trip/", views.horse_trip, name="horse_trip"),
    path("horse/<int:number>/gene/", views.gene_tests, name="gene_tests"),
]

ACCESS: dict[str, Roles] = {"horse_trip": SIGNED_IN, "gene_tests": TESTERS}
