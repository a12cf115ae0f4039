"""Addresses: recordings, works of a gallop and of a horse, heat."""

from django.urls import path

from upsides.books.diary.work import ORDERERS
from upsides.books.models import Role
from upsides.web.recordings import gallop_views, heat_views, key_views, sending, views, works_views
from upsides.web.shell.access import ANYONE, EVERY_HORSE, Roles

KEYS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT})
"""Who makes and ends the keys of devices."""

urlpatterns = [
    path("recordings/", views.recordings, name="recordings"),
    path("recordings/add/", views.recordings_add, name="recordings_add"),
    path("recordings/send/", sending.recordings_send, name="recordings_send"),
    path("recordings/keys/", key_views.upload_keys, name="upload_keys"),
    path("recordings/keys/<int:number>/end/", key_views.upload_key_end, name="upload_key_end"),
    path("recordings/tracker/<int:number>/", views.tracker, name="tracker"),
    path("recordings/<int:number>/", views.recording, name="recording"),
    path("recordings/<int:number>/chart.json", views.recording_chart, name="recording_chart"),
    path("recordings/<int:number>/horse/", views.recording_give, name="recording_give"),
    path("recordings/<int:number>/nobody/", views.recording_take, name="recording_take"),
    path("recordings/<int:number>/aside/", views.recording_aside, name="recording_aside"),
    path("recordings/<int:number>/gallop/", gallop_views.recording_gallop, name="recording_gallop"),
    path("gallop/<int:number>/works/", works_views.gallop_works, name="gallop_works"),
    path("gallop/<int:number>/works.json", works_views.gallop_works_chart, name="gallop_works_chart"),
    path("horse/<int:number>/works/", works_views.horse_works, name="horse_works"),
    path("horse/<int:number>/works.json", works_views.horse_works_chart, name="horse_works_chart"),
    path("heat/", heat_views.heat, name="heat"),
]

ACCESS: dict[str, Roles] = {
    "recordings": EVERY_HORSE,
    "recordings_add": ORDERERS,
    "recordings_send": ANYONE,
    "upload_keys": KEYS,
    "upload_key_end": KEYS,
    "tracker": ORDERERS,
    "recording": EVERY_HORSE,
    "recording_chart": EVERY_HORSE,
    "recording_give": ORDERERS,
    "recording_take": ORDERERS,
    "recording_aside": ORDERERS,
    "recording_gallop": ORDERERS,
    "gallop_works": EVERY_HORSE,
    "gallop_works_chart": EVERY_HORSE,
    "horse_works": EVERY_HORSE,
    "horse_works_chart": EVERY_HORSE,
    "heat": EVERY_HORSE,
}
"""Whoever works with horses looks; those who order work add and correct; devices send with a key of their own."""
