"""Addresses of the barn phone."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.barn import phones, views
from upsides.web.shell.access import ANYONE, Roles

HANDS_OUT: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON})
"""Who may make a phone a barn phone."""

urlpatterns = [
    path("barn/", views.barn, name="barn"),
    path("barn/<int:number>/", views.pin, name="barn_pin"),
    path("barn/over/", views.hand_over, name="hand_over"),
    path("barn/devices/", phones.phones, name="barn_phones"),
    path("barn/devices/<int:number>/end/", phones.end_phone, name="barn_phone_end"),
]

ACCESS: dict[str, Roles] = {
    "barn": ANYONE,
    "barn_pin": ANYONE,
    "hand_over": ANYONE,
    "barn_phones": HANDS_OUT,
    "barn_phone_end": HANDS_OUT,
}
