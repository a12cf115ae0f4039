"""Addresses of the jobs' pages."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.jobs import views
from upsides.web.shell.access import OFFICE, Roles

PLANS: Roles = frozenset({Role.TRAINER, Role.SECRETARY})
"""Who says what is done every night."""

urlpatterns = [
    path("jobs/", views.jobs, name="jobs"),
    path("jobs/ask/", views.ask, name="job_ask"),
    path("jobs/schedule/<int:number>/", views.schedule, name="schedule"),
    path("job/<int:number>/", views.job, name="job"),
    path("job/<int:number>/stop/", views.stop, name="job_stop"),
    path("job/<int:number>/again/", views.again, name="job_again"),
]

ACCESS: dict[str, Roles] = {
    "jobs": OFFICE,
    "job_ask": OFFICE,
    "schedule": PLANS,
    "job": OFFICE,
    "job_stop": OFFICE,
    "job_again": OFFICE,
}
