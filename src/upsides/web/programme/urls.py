"""Addresses: the programme, one race, a horse's races, deadlines, calendars, race days, races let go."""

from django.urls import path

from upsides.web.programme import black_type_views, calendar_views, let_go_views, race_day_views, taking_views, views
from upsides.web.shell.access import ANYONE, EVERY_HORSE, INSIDE, OFFICE, SIGNED_IN, TRAINER

_PAGES = (
    ("programme/", views.programme, "programme", EVERY_HORSE),
    ("programme/new/", taking_views.new, "programme_new", OFFICE),
    ("programme/new/<slug:sha>/", taking_views.read, "programme_read", OFFICE),
    ("programme/new/<slug:sha>/take/", taking_views.take, "programme_take", OFFICE),
    ("programme/taken/<int:number>/back/", taking_views.back, "programme_back", OFFICE),
    ("programme/race/<slug:code>/", views.programme_race, "programme_race", EVERY_HORSE),
    ("programme/race/<slug:code>/horse/<int:number>/", views.race_horse, "race_horse", SIGNED_IN),
    ("programme/race/<slug:code>/horse/<int:number>/say/", views.say, "race_say", OFFICE),
    ("programme/race/<slug:code>/horse/<int:number>/chance/", views.race_chance, "race_chance", SIGNED_IN),
    ("black-type/", black_type_views.black_type, "black_type", TRAINER),
    ("draw/", views.draw, "draw", INSIDE),
    ("horse/<int:number>/races/", views.horse_races, "horse_races", SIGNED_IN),
    ("horse/<int:number>/races/<slug:code>/win/", views.win_costs, "win_costs", SIGNED_IN),
    ("deadlines/", views.deadlines, "deadlines", INSIDE),
    ("deadlines/calendar/", calendar_views.make, "calendar_new", INSIDE),
    ("deadlines/calendar/<int:number>/end/", calendar_views.end, "calendar_end", INSIDE),
    ("calendar/<str:token>.ics", calendar_views.feed, "calendar_feed", ANYONE),
    ("race-day/", race_day_views.race_day, "race_day", INSIDE),
    ("race-day/runner/<int:number>/", race_day_views.card, "race_day_card", OFFICE),
    ("race-day/race/<slug:code>/runners/", race_day_views.runners, "race_day_runners", OFFICE),
    ("race-day/sheet.pdf", race_day_views.sheet, "race_day_sheet", INSIDE),
    ("races-let-go/", let_go_views.let_go, "let_go", INSIDE),
    ("races-let-go/<int:number>/", let_go_views.say_why, "let_go_why", OFFICE),
)

urlpatterns = [path(place, view, name=name) for place, view, name, _who in _PAGES]

ACCESS = {name: who for _place, _view, name, who in _PAGES}
