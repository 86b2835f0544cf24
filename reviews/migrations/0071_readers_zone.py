from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("reviews", "0070_small_pictures")]

    operations = [
        migrations.AddField(
            model_name="person", name="zone", field=models.CharField(blank=True, default="", max_length=64)
        )
    ]
