"""The pages as a WSGI application."""

import os
from importlib import import_module
from threading import Thread

from django.core.wsgi import get_wsgi_application

from upsides.charts.picture import warm_up

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "upsides.books.settings")
application = get_wsgi_application()
import_module("upsides.web.urls")  # now, so that the first visitor does not wait for it
Thread(target=warm_up, daemon=True).start()
