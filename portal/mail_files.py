"""Mail of the embedded mode: files in the data folder, on the disk before their row says that they were sent."""

from pathlib import Path

from django.core.mail.backends.filebased import EmailBackend as FileBackend

from reviews.durable import flush_file, flush_folder


class EmailBackend(FileBackend):
    """Writes mails to files as Django's own does, and flushes each when it is closed."""

    def close(self) -> None:
        was_open = self.stream is not None
        super().close()
        if was_open:
            written = Path(self._get_filename())  # type: ignore[attr-defined]  # not in the stubs
            flush_file(written)
            flush_folder(written.parent)
