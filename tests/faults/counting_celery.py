"""The house's Celery worker, doing counted jobs: `celery -A tests.faults.counting_celery worker`."""

import django

django.setup()

from portal.celery import app  # noqa: E402
from tests.faults import counting  # noqa: E402

counting.take_over()
__all__ = ["app"]
