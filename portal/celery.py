"""Celery for house mode: it carries ids of Job rows, nothing else (see reviews/jobs.py)."""

import logging
import os

from celery import Celery
from celery.signals import worker_init
from kombu.transport.redis import Channel

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

app = Celery("roughproof")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.set_default()

# A worker holding messages whose broker went away tried to give them back over the line that was lost, and died of it.
# Nothing need be given back: what is to be done is a Job row, and the sweep sends its id again.
Channel.do_restore = False


@worker_init.connect
def wait_for_tables(**_: object) -> None:
    """Begin when the migration that starts beside us is through; an older version refuses newer tables."""
    from reviews.management.starting import begin_when_ready

    begin_when_ready(logging.getLogger(__name__).warning)
