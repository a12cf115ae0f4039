"""The books as a Django application."""

from django.apps import AppConfig


class BooksConfig(AppConfig):
    """The books."""

    name = "upsides.books"
    label = "books"
    verbose_name = "the books"
    default_auto_field = "django.db.models.BigAutoField"
