"""Addresses: the checks of the barns, morning and evening."""

from django.urls import URLPattern

from upsides.web.shell.access import Roles

urlpatterns: list[URLPattern] = []

ACCESS: dict[str, Roles] = {}
