"""Addresses of the diary, and of what phones keep of it."""

from django.urls import path

from upsides.books.services.diary import MENDERS
from upsides.web.diary import phone, sending, views
from upsides.web.shell.access import ANYONE, EVERY_HORSE, Roles

urlpatterns = [
    path("diary/", views.diary, name="diary"),
    path("diary/<int:number>/", views.diary_entry, name="diary_entry"),
    path("diary/<int:number>/mend/", views.diary_mend, name="diary_mend"),
    path("diary/<int:number>/keep/", views.diary_keep, name="diary_keep"),
    path("diary/conflicts/", views.diary_conflicts, name="diary_conflicts"),
    path("diary/send/", sending.send, name="diary_send"),
    path("diary/author.json", phone.diary_author, name="diary_author"),
    path("diary/horses.json", phone.diary_horses, name="diary_horses"),
    path("diary/doses.json", phone.diary_doses, name="diary_doses"),
    path("diary/news/", phone.diary_news, name="diary_news"),
    path("diary/shell/", phone.kept_page, {"name": "diary"}, name="diary_shell"),
    path("diary/no-signal/", phone.diary_no_signal, name="diary_no_signal"),
    path("diary/scripts/<str:version>/<str:name>.js", phone.diary_script, name="diary_script"),
    path("worker.js", phone.service_worker, name="service_worker"),
    path("manifest.webmanifest", phone.manifest, name="manifest"),
]

ACCESS: dict[str, Roles] = {
    "diary": EVERY_HORSE,
    "diary_entry": EVERY_HORSE,
    "diary_mend": EVERY_HORSE,
    "diary_keep": MENDERS,
    "diary_conflicts": EVERY_HORSE,
    "diary_send": ANYONE,
    "diary_author": EVERY_HORSE,
    "diary_horses": EVERY_HORSE,
    "diary_doses": EVERY_HORSE,
    "diary_news": EVERY_HORSE,
    "diary_shell": ANYONE,
    "diary_no_signal": ANYONE,
    "diary_script": ANYONE,
    "service_worker": ANYONE,
    "manifest": ANYONE,
}
