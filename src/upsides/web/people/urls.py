"""Addresses of the people of the yard."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.people import inside, me, sign_ins, views
from upsides.web.shell.access import OFFICE, SIGNED_IN, TRAINER, Roles

CHANGES_PEOPLE: Roles = frozenset({Role.TRAINER, Role.SECRETARY})
READS_RELEASES: Roles = frozenset({Role.TRAINER, Role.ASSISTANT})

_ABOUT = (
    ("", views.person, "person", OFFICE),
    ("change/", views.change, "person_change", CHANGES_PEOPLE),
    ("invite/", sign_ins.invite, "person_invite", CHANGES_PEOPLE),
    ("pin/", sign_ins.set_pin, "person_pin", CHANGES_PEOPLE),
    ("pin/clear/", sign_ins.clear_pin, "person_pin_clear", CHANGES_PEOPLE),
    ("second/take/", sign_ins.take_second_step, "person_second_take", CHANGES_PEOPLE),
    ("close/", sign_ins.close, "person_close", CHANGES_PEOPLE),
    ("reopen/", sign_ins.reopen, "person_reopen", CHANGES_PEOPLE),
    ("erase/", sign_ins.erase, "person_erase", CHANGES_PEOPLE),
    ("device/<int:device>/end/", sign_ins.end_device, "person_device_end", CHANGES_PEOPLE),
)
_OTHERS = (
    ("people/", views.people, "people", OFFICE),
    ("people/new/", views.new, "person_new", CHANGES_PEOPLE),
    ("people/released/", inside.released, "released", READS_RELEASES),
    ("people/released/give/", inside.give, "release_give", TRAINER),
    ("people/released/<int:number>/end/", inside.end, "release_end", TRAINER),
    ("people/looked/", inside.looked, "looked", TRAINER),
    ("me/", me.me, "me", SIGNED_IN),
    ("me/pin/", me.own_pin, "own_pin", SIGNED_IN),
    ("me/device/<int:number>/end/", me.end_own_device, "own_device_end", SIGNED_IN),
)

urlpatterns = [
    *(path(place, view, name=name) for place, view, name, _who in _OTHERS),
    *(path(f"person/<int:number>/{place}", view, name=name) for place, view, name, _who in _ABOUT),
]

ACCESS: dict[str, Roles] = {name: who for _place, _view, name, who in (*_OTHERS, *_ABOUT)}
