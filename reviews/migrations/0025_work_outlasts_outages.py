import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0020_store_checks"),
    ]

    operations = [
        migrations.CreateModel(
            name="KeyedPress",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
                ("status", models.PositiveSmallIntegerField(default=0)),
                ("location", models.CharField(blank=True, max_length=2000)),
                ("body", models.TextField(blank=True)),
            ],
        ),
        migrations.CreateModel(
            name="PortalFact",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True)),
                ("at", models.DateTimeField()),
                ("data", models.JSONField(default=dict)),
            ],
        ),
        migrations.AddField(
            model_name="job",
            name="outages",
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="job",
            name="paused_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="person",
            name="runs_portal",
            field=models.BooleanField(default=False),
        ),
        migrations.AlterField(
            model_name="invitation",
            name="sent_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="job",
            name="run_after",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="keyedpress",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddConstraint(
            model_name="keyedpress",
            constraint=models.UniqueConstraint(fields=("person", "key"), name="press_counts_once"),
        ),
    ]
