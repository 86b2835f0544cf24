"""Whether the database has the tables this version of Roughproof knows: not older, and not newer."""

from __future__ import annotations

from dataclasses import dataclass

from django.apps import apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


@dataclass(frozen=True)
class Schema:
    """Migrations still to be applied, and applied ones that this version has never heard of."""

    missing: tuple[str, ...]
    unknown: tuple[str, ...]


def schema_now() -> Schema:
    """Hold the migrations on disk against those applied (2 queries)."""
    executor = MigrationExecutor(connection)
    loader = executor.loader
    plan = executor.migration_plan(loader.graph.leaf_nodes())
    known = set(loader.disk_migrations)
    # A migration that stands for several older ones: their names are known though their files are gone.
    for migration in loader.disk_migrations.values():
        known.update((app, name) for app, name in migration.replaces)
    ours = {config.label for config in apps.get_app_configs()}
    unknown = [key for key in loader.applied_migrations if key[0] in ours and key not in known]
    return Schema(
        missing=tuple(f"{migration.app_label}.{migration.name}" for migration, _ in plan),
        unknown=tuple(sorted(f"{label}.{name}" for label, name in unknown)),
    )
