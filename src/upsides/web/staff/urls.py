"""Addresses: who works when; the yard's gallops and things."""

from django.urls import URLPattern

from upsides.web.shell.access import Roles

urlpatterns: list[URLPattern] = []

ACCESS: dict[str, Roles] = {}
