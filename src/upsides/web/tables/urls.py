"""Addresses: tables taken in and given out."""

from django.urls import URLPattern

from upsides.web.shell.access import Roles

urlpatterns: list[URLPattern] = []

ACCESS: dict[str, Roles] = {}
