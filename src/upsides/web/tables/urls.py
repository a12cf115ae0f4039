"""Addresses: tables taken in and given out."""

from django.urls import path

from upsides.web.shell.access import OFFICE, Roles
from upsides.web.tables import views

urlpatterns = [
    path("tables/", views.tables, name="tables"),
    path("tables/new/", views.new, name="table_new"),
    path("tables/read/<str:what>/<str:sha>/", views.read, name="table_read"),
    path("tables/read/<str:what>/<str:sha>/take/", views.take, name="table_take"),
    path("tables/read/<str:what>/<str:sha>/check/", views.check, name="table_check"),
    path("tables/read/<str:what>/<str:sha>/left-out.csv", views.left_out, name="table_left_out"),
    path("tables/export/", views.export, name="tables_export"),
    path("tables/<int:number>/", views.one, name="table"),
    path("tables/<int:number>/undo/", views.undo, name="table_undo"),
    path("tables/<int:number>/go-on/", views.go_on, name="table_go_on"),
]

ACCESS: dict[str, Roles] = {
    "tables": OFFICE,
    "table_new": OFFICE,
    "table_read": OFFICE,
    "table_take": OFFICE,
    "table_check": OFFICE,
    "table_left_out": OFFICE,
    "tables_export": OFFICE,
    "table": OFFICE,
    "table_undo": OFFICE,
    "table_go_on": OFFICE,
}
