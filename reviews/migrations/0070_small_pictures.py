"""Ask for the mini and the main colours of every picture read before there were any: a job each, behind all requests."""

from django.db import migrations
from django.db.models import Min
from django.utils import timezone


def ask_for_them(apps, schema_editor):
    jobs = apps.get_model("reviews", "Job").objects
    read = apps.get_model("reviews", "Picture").objects.filter(state="ready").exclude(facts__has_key="colours")
    now = timezone.now()
    # Pictures of one content share what is made of them.
    firsts = read.order_by().values("sha256").annotate(first=Min("pk")).values_list("first", flat=True)
    asked = [
        jobs.model(kind="small-picture", subject_id=first, key=f"small-picture:{first}", created_at=now)
        for first in firsts
    ]
    jobs.bulk_create(asked, batch_size=500, ignore_conflicts=True)


class Migration(migrations.Migration):
    dependencies = [("reviews", "0069_given_to_printer")]

    operations = [migrations.RunPython(ask_for_them, migrations.RunPython.noop)]
