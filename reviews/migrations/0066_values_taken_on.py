from django.db import migrations, models


def fill_from_ledger(apps, schema_editor):
    """Give each stopper taken on the figures its ledger entry tells; one without an entry covers nothing any more."""
    entries = apps.get_model("reviews", "LedgerEntry").objects.filter(deed="take-on-fault")
    told = {}
    for passage_id, data in entries.order_by("seq").values_list("passage_id", "data"):
        told[passage_id, data.get("picture"), data.get("code")] = data.get("values", {})
    for row in apps.get_model("reviews", "TakenFault").objects.all():
        row.values = told.get((row.passage_id, row.picture_id, row.code), {})
        row.save(update_fields=["values"])


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0065_measured_proofs"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="takenfault", name="fault_taken_once"),
        migrations.AddField(model_name="takenfault", name="values", field=models.JSONField(default=dict)),
        migrations.RunPython(fill_from_ledger, migrations.RunPython.noop, elidable=True),
    ]
