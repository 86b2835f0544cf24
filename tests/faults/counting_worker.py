"""The embedded worker, doing counted jobs: `python -m tests.faults.counting_worker`."""

import django
from django.core.management import call_command

django.setup()

from tests.faults import counting  # noqa: E402

if __name__ == "__main__":
    counting.take_over()
    call_command("work")
