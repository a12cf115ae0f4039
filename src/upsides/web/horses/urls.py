"""Addresses: horses entered and changed, what is kept of them, boxes."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.horses import boxes, lines, views
from upsides.web.shell.access import EVERY_HORSE, OFFICE, Roles

MOVES_HORSES: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.HEAD_PERSON})
"""Who may put a horse into another box."""

_PAGES = (
    ("horse/new/", views.new, "horse_new", OFFICE),
    ("horse/<int:number>/change/", views.change, "horse_change", OFFICE),
    ("horse/<int:number>/about/", views.about, "horse_about", OFFICE),
    ("horse/<int:number>/gelded/", lines.gelded, "horse_gelded", OFFICE),
    ("horse/<int:number>/about/<slug:section>/new/", lines.new, "horse_line_new", OFFICE),
    ("horse/<int:number>/about/<slug:section>/<int:line>/", lines.change, "horse_line", OFFICE),
    ("horse/<int:number>/about/<slug:section>/<int:line>/out/", lines.out, "horse_line_out", OFFICE),
    ("horse/<int:number>/box/", boxes.put, "horse_box", MOVES_HORSES),
    ("horse/<int:number>/box/<int:stand>/out/", boxes.stand_out, "horse_stand_out", OFFICE),
    ("boxes/", boxes.walk, "boxes", EVERY_HORSE),
    ("boxes/new/", boxes.new, "boxes_new", OFFICE),
    ("boxes/order/", boxes.order, "boxes_order", OFFICE),
    ("boxes/<int:number>/", boxes.change, "box_change", OFFICE),
    ("boxes/<int:number>/out/", boxes.out, "box_out", OFFICE),
)

urlpatterns = [path(place, view, name=name) for place, view, name, _who in _PAGES]

ACCESS: dict[str, Roles] = {name: who for _place, _view, name, who in _PAGES}
