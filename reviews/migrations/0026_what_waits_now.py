from django.db import migrations, models
from django.db.models import F


def name_the_clocks(apps, schema_editor):
    """Work that waits now is due at once, or its pause was set by the clock of the day it was asked for."""
    job = apps.get_model("reviews", "Job")
    job.objects.filter(run_after__lte=F("created_at")).update(run_after=None)
    job.objects.filter(run_after__isnull=False).update(paused_at=F("created_at"))
    # An invitation counts as sent when its mail left.
    open_ones = job.objects.filter(kind="invitation").exclude(state="done").values("subject_id")
    apps.get_model("reviews", "Invitation").objects.filter(
        pk__in=list(open_ones.values_list("subject_id", flat=True))
    ).update(sent_at=None)
    # The first account set the portal up.
    person = apps.get_model("reviews", "Person")
    first = person.objects.order_by("pk").first()
    if first is not None:
        person.objects.filter(pk=first.pk).update(runs_portal=True)


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0025_work_outlasts_outages"),
    ]

    operations = [
        migrations.RunPython(name_the_clocks, migrations.RunPython.noop, elidable=True),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(("run_after", None), ("paused_at__isnull", False), _connector="OR"),
                name="job_pause_names_its_clock",
            ),
        ),
    ]
