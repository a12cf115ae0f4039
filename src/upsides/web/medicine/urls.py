"""Addresses: medicines, vaccinations, contacts, what is due."""

from django.urls import path

from upsides.books.diary.medicine import GIVERS
from upsides.books.diary.vet import MEDICAL
from upsides.books.models import Role
from upsides.web.medicine import views
from upsides.web.shell.access import Roles

READERS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY, Role.VET})

_PAGES = (
    ("medicines/", views.medicines, "medicines", READERS),
    ("medicines/register.pdf", views.register_on_paper, "medicine_register_pdf", READERS),
    ("medicines/register.csv", views.register_as_table, "medicine_register_csv", READERS),
    ("horse/<int:number>/medicines/", views.medicines_of_horse, "medicines_of_horse", READERS),
    ("horse/<int:number>/medicines/again/", views.give_again, "medicine_again", GIVERS),
    ("horse/<int:number>/medicines/dose/", views.enter_dose, "vaccination_dose", MEDICAL),
    ("horse/<int:number>/contacts/", views.contacts_of_horse, "contacts", READERS),
    ("due/", views.due_list, "due", READERS),
    ("isolation/", views.isolation, "isolation", READERS),
)

urlpatterns = [path(place, view, name=name) for place, view, name, _who in _PAGES]

ACCESS: dict[str, Roles] = {name: who for _place, _view, name, who in _PAGES}
