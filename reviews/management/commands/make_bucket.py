"""`manage.py make_bucket`: make the bucket of the pictures where there is none yet (house mode)."""

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management.base import BaseCommand, CommandError

from reviews.queries.outages import what_is_away


class Command(BaseCommand):
    help = "Make the bucket that S3_BUCKET names, unless it is there."
    requires_system_checks: list[str] = []

    def handle(self, **options: object) -> None:
        if not settings.HOUSE:
            raise CommandError("In the embedded mode pictures lie in the data folder; there is no bucket to make.")
        bucket = default_storage.bucket  # type: ignore[attr-defined]  # a house keeps its pictures in one
        try:
            there = {one["Name"] for one in bucket.meta.client.list_buckets().get("Buckets", [])}
            if bucket.name not in there:
                bucket.meta.client.create_bucket(Bucket=bucket.name)
        except Exception as problem:  # the store's library raises from several families
            if what_is_away(problem) is None:
                raise
            raise CommandError(f"The store did not make the bucket {bucket.name}: {problem}") from None
        self.stdout.write(f"The bucket {bucket.name} is there.")
