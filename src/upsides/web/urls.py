"""Addresses of all pages. Who may open which stands beside each area's addresses."""

from importlib import import_module

from upsides.web.shell.access import AREAS

urlpatterns = [pattern for area in AREAS for pattern in import_module(f"upsides.web.{area}.urls").urlpatterns]

handler500 = "upsides.web.shell.troubles.failed"
