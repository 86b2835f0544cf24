"""The platform as a Django application: it only makes sure that Celery is configured where it is used."""

from importlib import import_module

from django.apps import AppConfig
from django.conf import settings


class PortalConfig(AppConfig):
    name = "portal"

    def ready(self) -> None:
        # Embedded mode never loads Celery: 0.2 s of every start and 15 MB of every process.
        if settings.HOUSE:
            import_module("portal.celery")
