"""Addresses of sales and lots."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.sales import views
from upsides.web.shell.access import OFFICE, Roles

WRITERS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.VET})
READERS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.VET, Role.HEAD_PERSON})

urlpatterns = [
    path("sales/", views.sales, name="sales"),
    path("sale/<int:number>/", views.sale, name="sale"),
    path("lot/<int:number>/", views.lot, name="lot"),
    path("lot/<int:number>/shortlist/", views.lot_shortlist, name="lot_shortlist"),
    path("lot/<int:number>/note/", views.lot_note, name="lot_note"),
    path("lot/note/<int:number>/mend/", views.lot_note_mend, name="lot_note_mend"),
]

ACCESS: dict[str, Roles] = {
    "sales": READERS,
    "sale": READERS,
    "lot": READERS,
    "lot_shortlist": OFFICE,
    "lot_note": WRITERS,
    "lot_note_mend": WRITERS,
}
