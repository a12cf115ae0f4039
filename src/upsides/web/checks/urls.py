"""Addresses: the checks of the barns, morning and evening."""

from django.urls import path

from upsides.web.checks import views
from upsides.web.diary import phone
from upsides.web.shell.access import ANYONE, EVERY_HORSE, Roles

urlpatterns = [
    path("checks/", views.checks, name="checks"),
    path("checks/shell/", phone.kept_page, {"name": "checks"}, name="checks_shell"),
]

ACCESS: dict[str, Roles] = {"checks": EVERY_HORSE, "checks_shell": ANYONE}
