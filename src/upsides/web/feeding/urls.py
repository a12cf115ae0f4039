"""Addresses: rations, feed boards, feed in store."""

from django.urls import path

from upsides.books.models import Role
from upsides.web.feeding import ration_views, store_views, views
from upsides.web.shell.access import EVERY_HORSE, Roles

FEEDERS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY})

urlpatterns = [
    path("feed/", views.feed_board, name="feed_board"),
    path("feed/board.pdf", views.feed_board_pdf, name="feed_board_pdf"),
    path("feed/several/", ration_views.feed_several, name="feed_several"),
    path("horse/<int:number>/feed/", ration_views.ration, name="ration"),
    path("horse/<int:number>/feed/write/", ration_views.ration_write, name="ration_write"),
    path("feed/ration/<int:number>/back/", ration_views.ration_back, name="ration_back"),
    path("feed/store/", store_views.feed_store, name="feed_store"),
    path("feed/store/new/", store_views.feed_new, name="feed_new"),
    path("feed/times/", store_views.feed_times, name="feed_times"),
    path("feed/<int:number>/", store_views.feed, name="feed"),
    path("feed/<int:number>/delivery/", store_views.feed_deliver, name="feed_deliver"),
    path("feed/batch/<int:number>/", store_views.feed_batch, name="feed_batch"),
    path("feed/batch/<int:number>/marks/", store_views.feed_batch_mark, name="feed_batch_mark"),
]

ACCESS: dict[str, Roles] = {
    "feed_board": EVERY_HORSE,
    "feed_board_pdf": EVERY_HORSE,
    "ration": EVERY_HORSE,
    "ration_write": FEEDERS,
    "ration_back": FEEDERS,
    "feed_several": FEEDERS,
    "feed_store": FEEDERS,
    "feed_new": FEEDERS,
    "feed_times": FEEDERS,
    "feed": FEEDERS,
    "feed_deliver": FEEDERS,
    "feed_batch": FEEDERS,
    "feed_batch_mark": FEEDERS,
}
