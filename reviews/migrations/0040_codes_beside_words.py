"""Room for codes with values beside the sentences that were stored; the next step fills it."""

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("reviews", "0038_restore_note")]

    operations = [
        migrations.RemoveConstraint("comparison", "told_comparison_has_moment"),
        migrations.RenameField("comparison", "told", "result"),
        migrations.AddConstraint(
            "comparison",
            models.CheckConstraint(
                condition=Q(made_at=None, result__isnull=True) | Q(made_at__isnull=False, result__isnull=False),
                name="comparison_result_has_moment",
            ),
        ),
        migrations.AddField("picture", "reason_values", models.JSONField(blank=True, default=dict)),
        migrations.AddField("derivation", "reason_values", models.JSONField(blank=True, default=dict)),
        migrations.RemoveConstraint("derivation", "derivation_failed_says_why"),
        migrations.RemoveConstraint("job", "job_failed_says_why"),
        migrations.RenameField("job", "error", "error_words"),
        migrations.AddField("job", "error", models.JSONField(blank=True, default=dict)),
        migrations.AddField("job", "progress_step", models.JSONField(blank=True, default=dict)),
    ]
