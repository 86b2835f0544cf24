from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0050_agents_word"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="proposal",
            name="proposal_has_its_object",
        ),
        migrations.RemoveField(
            model_name="proposal",
            name="cause",
        ),
        migrations.RemoveField(
            model_name="proposal",
            name="holds_back",
        ),
        migrations.AlterField(
            model_name="proposal",
            name="matter",
            field=models.CharField(choices=[("date", "date"), ("terms", "terms")], max_length=8),
        ),
        migrations.AddConstraint(
            model_name="proposal",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("matter", "date"), ("passage__isnull", False), ("to_on__isnull", False)),
                    models.Q(("matter", "terms"), ("passage", None), ("terms__isnull", False)),
                    _connector="OR",
                ),
                name="proposal_has_its_object",
            ),
        ),
    ]
