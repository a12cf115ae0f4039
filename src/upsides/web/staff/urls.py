"""Addresses: who works when; the yard's gallops and things."""

from django.urls import path

from upsides.web.shell.access import Roles
from upsides.web.staff import hours, person, views, yard
from upsides.web.staff.rights import CHANGES, KEEPS, PLANS_WORK, SEES_WEEK

_HOURS = (
    ("staff/", views.staff, "staff", KEEPS),
    ("staff/week/", views.week, "staff_week", SEES_WEEK),
    ("staff/week.pdf", views.week_on_paper, "staff_week_pdf", SEES_WEEK),
    ("staff/person/<int:number>/", person.person, "staff_person", KEEPS),
    ("staff/person/<int:number>/hours/", hours.hours, "staff_hours", CHANGES),
    ("staff/person/<int:number>/sick/", views.sick_today, "staff_sick", KEEPS),
    ("staff/person/<int:number>/off/", person.take_off, "staff_off", KEEPS),
    ("staff/off/<int:number>/back/", person.back, "staff_back", KEEPS),
    ("staff/person/<int:number>/bind/", person.bind, "staff_bind", CHANGES),
    ("staff/bond/<int:number>/end/", person.unbind, "staff_unbind", CHANGES),
)
_YARD = (
    ("yard/", yard.yard, "yard", KEEPS),
    ("yard/change/", yard.change, "yard_change", KEEPS),
    ("yard/limits/", yard.limits, "yard_limits", PLANS_WORK),
    ("yard/gallop/new/", yard.new_gallop, "gallop_new", KEEPS),
    ("yard/gallop/<int:number>/", yard.gallop, "gallop", KEEPS),
    ("yard/gallop/<int:number>/use/", yard.use_gallop, "gallop_use", KEEPS),
    ("yard/thing/new/", yard.new_thing, "thing_new", KEEPS),
    ("yard/thing/<int:number>/", yard.thing, "thing", KEEPS),
    ("yard/thing/<int:number>/use/", yard.use_thing, "thing_use", KEEPS),
)

urlpatterns = [path(place, view, name=name) for place, view, name, _who in (*_HOURS, *_YARD)]

ACCESS: dict[str, Roles] = {name: who for _place, _view, name, who in (*_HOURS, *_YARD)}
