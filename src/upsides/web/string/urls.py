"""Addresses of the string's pages."""

from django.urls import path

from upsides.web.string import views

urlpatterns = [
    path("", views.string, name="string"),
    path("horse/<int:number>/", views.horse, name="horse"),
]
