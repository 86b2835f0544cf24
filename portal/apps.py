"""The platform as a Django application: what a process of the house needs before it begins."""

import tempfile
from importlib import import_module
from pathlib import Path

from django.apps import AppConfig
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured


class PortalConfig(AppConfig):
    name = "portal"

    def ready(self) -> None:
        # Embedded mode never loads Celery: 0.2 s of every start and 15 MB of every process.
        if settings.HOUSE:
            use_scratch(settings.SCRATCH_DIR)
            import_module("portal.celery")


def use_scratch(folder: Path) -> None:
    """Have temporary files in a folder of ours that nobody else can enter, and refuse one that is somebody else's."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
    except OSError as problem:
        raise ImproperlyConfigured(
            f"Temporary files cannot be kept in {folder}: {problem.strerror}. Name another folder in "
            "ROUGHPROOF_SCRATCH."
        ) from None
    tempfile.tempdir = str(folder)
