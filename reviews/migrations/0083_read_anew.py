"""Ask for another look at every picture that could be shown otherwise now: a job each, behind all requests.

An AVIF may be a grid; a TIFF or a layered file may hold plates, or numbers with a sign. The others stay as they are.
"""

from django.db import migrations
from django.db.models import Min
from django.utils import timezone

KINDS = ("AVIF", "TIFF", "PSD", "PSB")


def ask_for_them(apps, schema_editor):
    jobs = apps.get_model("reviews", "Job").objects
    read = apps.get_model("reviews", "Picture").objects.filter(state="ready", facts__kind__in=KINDS)
    before = read.exclude(facts__has_key="plates")
    now = timezone.now()
    # Pictures of one content share what is made of them.
    firsts = before.order_by().values("sha256").annotate(first=Min("pk")).values_list("first", flat=True)
    asked = [
        jobs.model(kind="read-anew", subject_id=first, key=f"read-anew:{first}", created_at=now) for first in firsts
    ]
    jobs.bulk_create(asked, batch_size=500, ignore_conflicts=True)


class Migration(migrations.Migration):
    dependencies = [("reviews", "0082_looking")]

    operations = [migrations.RunPython(ask_for_them, migrations.RunPython.noop)]
