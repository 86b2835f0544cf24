from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("reviews", "0058_payments"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="invoice",
            name="settled_invoice_stands",
        ),
        migrations.RemoveConstraint(
            model_name="invoice",
            name="invoice_paid_by_somebody",
        ),
        migrations.RemoveConstraint(
            model_name="invoice",
            name="invoice_received_by_somebody",
        ),
        migrations.RemoveField(
            model_name="invoice",
            name="paid_by",
        ),
        migrations.RemoveField(
            model_name="invoice",
            name="paid_on",
        ),
        migrations.RemoveField(
            model_name="invoice",
            name="received_by",
        ),
        migrations.RemoveField(
            model_name="invoice",
            name="received_on",
        ),
    ]
