import django.db.models.deletion
from django.db import migrations, models

_KINDS = ("done", "not_done", "question")


class Migration(migrations.Migration):
    dependencies = [("reviews", "0074_gathered_sheets")]

    operations = [
        migrations.CreateModel(
            name="AnsweredThere",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("response", models.CharField(choices=[(kind, kind) for kind in _KINDS], max_length=10)),
                ("words", models.TextField(blank=True)),
                ("at", models.DateTimeField()),
                (
                    "note",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="answers_there", to="reviews.note"
                    ),
                ),
                (
                    "spread",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="reviews.spread"
                    ),
                ),
            ],
            options={
                "ordering": ["note", "spread"],
                "constraints": [models.UniqueConstraint(fields=("note", "spread"), name="one_answer_per_spread")],
            },
        )
    ]
