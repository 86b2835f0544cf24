"""Celery for house mode: it carries ids of Job rows, nothing else (see reviews/jobs.py)."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

app = Celery("roughproof")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.set_default()
