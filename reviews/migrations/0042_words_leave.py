"""The sentences leave: what is stored is codes with values."""

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("reviews", "0041_words_to_codes")]

    operations = [
        migrations.RemoveField("picture", "reason"),
        migrations.RemoveField("derivation", "reason"),
        migrations.RemoveField("job", "error_words"),
        migrations.RemoveField("job", "progress_words"),
        migrations.AddConstraint(
            "derivation",
            models.CheckConstraint(
                condition=Q(("state", "failed"), _negated=True) | Q(("reason_code", ""), _negated=True),
                name="derivation_failed_says_why",
            ),
        ),
        migrations.AddConstraint(
            "job",
            models.CheckConstraint(
                condition=Q(("state", "failed"), _negated=True) | Q(("error", {}), _negated=True),
                name="job_failed_says_why",
            ),
        ),
    ]
