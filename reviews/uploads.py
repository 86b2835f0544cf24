"""Receiving files: straight to disk, hashed on the way, each within its own size.

500 MB pass through in 64 KB pieces. A file over the limit is not written any further but does not break the
request either: the other files of a hand-in are kept, and this one arrives with the sentence that refuses it.
"""

import hashlib

from django.conf import settings
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler


class HashingUploadHandler(TemporaryFileUploadHandler):
    """Gives each uploaded file `sha256` (hex) and `refusal` (a sentence, or nothing)."""

    chunk_size = 64 * 1024
    file: TemporaryUploadedFile

    def new_file(self, *args: object, **kwargs: object) -> None:
        # Forms are read before anybody asks who posts them: a stranger's file must not fill the disk meanwhile.
        user = getattr(self.request, "user", None)
        if user is not None and not user.is_authenticated:
            raise SkipFile
        super().new_file(*args, **kwargs)
        self.digest = hashlib.sha256()
        self.n_bytes = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        self.n_bytes += len(raw_data)
        if self.n_bytes <= settings.MAX_PICTURE_BYTES:
            self.digest.update(raw_data)
            self.file.write(raw_data)

    def file_complete(self, file_size: int) -> TemporaryUploadedFile:
        complete = super().file_complete(file_size)
        complete.sha256 = self.digest.hexdigest()
        complete.refusal = self._refusal(complete.name)
        if complete.refusal:
            # The rest was never kept: leave nothing that could pass for the file.
            self.file.truncate(0)
            complete.size = 0
        return complete

    def _refusal(self, name: str) -> str:
        limit = settings.MAX_PICTURE_BYTES
        if self.n_bytes > limit:
            return (
                f"“{name}” is {_megabytes(self.n_bytes)} MB; one file may have {_megabytes(limit)} MB here. "
                "Save it smaller, or ask whoever runs this Roughproof to raise the limit."
            )
        if self.n_bytes == 0:
            return f"“{name}” is empty. Save it again and choose it once more."
        return ""


def _megabytes(n_bytes: int) -> int:
    return -(-n_bytes // (1024 * 1024))
