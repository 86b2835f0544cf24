"""What an earlier version wrote down about sign-ins, as typed, is of no use any more."""

from django.db import migrations

TABLES = ("axes_accessattemptexpiration", "axes_accessattempt", "axes_accessfailurelog", "axes_accesslog")


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0035_doors"),
    ]

    operations = [
        migrations.RunSQL([f"DROP TABLE IF EXISTS {table}" for table in TABLES], migrations.RunSQL.noop),
    ]
