from django.db import migrations, models

_KINDS = ("ideas", "sketch", "full_sketch", "line", "ink", "flats", "colour", "finish", "proof", "gathered")


class Migration(migrations.Migration):
    dependencies = [("reviews", "0073_text_blocks")]

    operations = [
        migrations.AlterField(
            model_name="stage",
            name="kind",
            field=models.CharField(choices=[(kind, kind) for kind in _KINDS], max_length=12),
        )
    ]
