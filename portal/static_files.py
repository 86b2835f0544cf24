"""Static files: in house mode named by content; beside our own, the faces that text blocks are shown in."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib.staticfiles.finders import FileSystemFinder
from django.core.files.storage import FileSystemStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage

from reviews.queries.faces import FACE_FILES


class HashedFiles(CompressedManifestStaticFilesStorage):
    """Also rewrites the paths inside `import … from "./x.js"`, or modules would load stale neighbours."""

    support_js_module_import_aggregation = True


class FaceFinder(FileSystemFinder):
    """Finds the files of the faces at hand in their packages, as ``type/NAME.ttf``, and nothing else of them."""

    prefix = "type"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        folders = sorted({str(path.parent) for path in FACE_FILES.values()})
        self.locations = [(self.prefix, folder) for folder in folders]
        self.storages = {}
        for folder in folders:
            storage = FileSystemStorage(location=folder)
            storage.prefix = self.prefix  # type: ignore[attr-defined]
            self.storages[folder] = storage

    def check(self, **kwargs: Any) -> list[Any]:
        return []  # Django looks at the folders that settings name, and these are none of them

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterable[Any]:
        """List the faces at hand, each with the storage that has it."""
        for folder, storage in self.storages.items():
            for path in sorted(path.name for path in FACE_FILES.values() if str(path.parent) == folder):
                yield path, storage

    def find_location(self, root: str, path: str, prefix: str | None = None) -> str | None:
        name = path.removeprefix(f"{prefix}/")
        if name == path or name not in {one.name for one in FACE_FILES.values()}:
            return None
        return super().find_location(root, path, prefix)
