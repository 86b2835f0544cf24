"""The WSGI entry point."""

import logging
import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

application = get_wsgi_application()

if settings.HOUSE:
    from reviews.management.starting import begin_when_ready

    # The embedded mode's own commands look before they start; here gunicorn is who starts us.
    begin_when_ready(logging.getLogger(__name__).warning)
