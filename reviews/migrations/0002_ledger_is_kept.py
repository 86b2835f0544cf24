"""Triggers that refuse to change or remove a ledger entry, on SQLite and on PostgreSQL.

A guard in Python is walked past by any other client of the database; this one is not.
"""

from django.db import migrations

SENTENCE = "Ledger entries are never changed or deleted."

SQLITE = [
    f"CREATE TRIGGER ledger_no_{verb.lower()} BEFORE {verb} ON reviews_ledgerentry "
    f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
    for verb in ("UPDATE", "DELETE")
]
POSTGRESQL = [
    "CREATE FUNCTION reviews_ledger_is_kept() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{SENTENCE}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
    "CREATE TRIGGER ledger_is_kept BEFORE UPDATE OR DELETE ON reviews_ledgerentry "
    "FOR EACH ROW EXECUTE FUNCTION reviews_ledger_is_kept()",
    # Emptying a table walks past row triggers.
    "CREATE TRIGGER ledger_is_not_emptied BEFORE TRUNCATE ON reviews_ledgerentry "
    "FOR EACH STATEMENT EXECUTE FUNCTION reviews_ledger_is_kept()",
]
SQLITE_BACK = ["DROP TRIGGER ledger_no_update", "DROP TRIGGER ledger_no_delete"]
POSTGRESQL_BACK = [
    "DROP TRIGGER ledger_is_not_emptied ON reviews_ledgerentry",
    "DROP TRIGGER ledger_is_kept ON reviews_ledgerentry",
    "DROP FUNCTION reviews_ledger_is_kept()",
]


def run(schema_editor, sqlite, postgresql):
    statements = {"sqlite": sqlite, "postgresql": postgresql}[schema_editor.connection.vendor]
    for statement in statements:
        schema_editor.execute(statement)


def keep(apps, schema_editor):
    run(schema_editor, SQLITE, POSTGRESQL)


def lift(apps, schema_editor):
    run(schema_editor, SQLITE_BACK, POSTGRESQL_BACK)


class Migration(migrations.Migration):
    dependencies = [("reviews", "0001_initial")]
    operations = [migrations.RunPython(keep, lift)]
