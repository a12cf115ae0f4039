"""The books as a Django application."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from upsides.books.append_only import after_migrate


class BooksConfig(AppConfig):
    """The books."""

    name = "upsides.books"
    label = "books"
    verbose_name = "the books"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the diary refuse change after every migration."""
        post_migrate.connect(after_migrate, sender=self, dispatch_uid="append_only")
