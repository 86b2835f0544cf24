"""A trigger that refuses to put one ledger entry in the place of another.

SQLite's `INSERT OR REPLACE` removes the row in its way without asking the DELETE trigger. PostgreSQL has no such
statement: there `ON CONFLICT DO UPDATE` is an update, and that trigger refuses it.
"""

from django.db import migrations

SENTENCE = "Ledger entries are never changed or deleted."

SQLITE = (
    "CREATE TRIGGER ledger_no_replace BEFORE INSERT ON reviews_ledgerentry "
    "WHEN EXISTS (SELECT 1 FROM reviews_ledgerentry "
    "WHERE id = NEW.id OR (book_id = NEW.book_id AND seq = NEW.seq)) "
    f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
)


def keep(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(SQLITE)


def lift(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER ledger_no_replace")


class Migration(migrations.Migration):
    dependencies = [("reviews", "0027_try_again")]
    operations = [migrations.RunPython(keep, lift)]
