"""A disk whose power can be cut: an ext4 file system of its own in a file, shut down without a last flush.

The shutdown is ext4's own (EXT4_IOC_SHUTDOWN without flushing the log): from that moment nothing reaches the image,
neither what the kernel holds back nor what the journal has not committed. Mounting it again replays the journal, as
a machine does when the power is back. What it cannot show is a disk that lies about having flushed.
"""

import fcntl
import os
import struct
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.servers import program, wait_until

_SHUTDOWN = 0x8004587D  # _IOR('X', 125, __u32)
_WITHOUT_FLUSHING_THE_LOG = 2
_MEGABYTES = 192


class CutDisk:
    """One file system, mounted on `place`."""

    def __init__(self, image: Path, place: Path) -> None:
        self.image, self.place = image, place

    def mount(self) -> None:
        self._run("mount", "-o", "loop", str(self.image), str(self.place))

    def unmount(self) -> None:
        # Whoever still had a file open when the power went may need a moment to be gone.
        wait_until(self._is_unmounted, seconds=20, what=f"{self.place} to be unmounted")

    def cut(self) -> float:
        """Cut the power; gives the moment just before, by the monotonic clock."""
        descriptor = os.open(self.place, os.O_RDONLY)
        try:
            moment = time.monotonic()
            fcntl.ioctl(descriptor, _SHUTDOWN, struct.pack("I", _WITHOUT_FLUSHING_THE_LOG))
        finally:
            os.close(descriptor)
        return moment

    def power_back(self) -> None:
        """Mount what is on the disk; nobody may have a file open there any more."""
        self.unmount()
        self.mount()

    def _is_unmounted(self) -> bool:
        if not os.path.ismount(self.place):
            return True
        return subprocess.run(["umount", str(self.place)], capture_output=True, check=False).returncode == 0

    def _run(self, *command: str) -> None:
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise OSError(f"{' '.join(command)}: {done.stderr.strip()}")


@contextmanager
def a_disk(tmp_path: Path) -> Iterator[CutDisk]:
    """Give an empty disk; where this machine lets nobody mount one the test is skipped, or fails with CI=true."""
    make = program("mkfs.ext4", package="e2fsprogs", also_in=[Path("/usr/sbin"), Path("/sbin")])
    image, place = tmp_path / "disk", tmp_path / "mounted"
    place.mkdir()
    with image.open("wb") as empty:
        empty.truncate(_MEGABYTES * 1024 * 1024)
    subprocess.run([make, "-q", str(image)], check=True)
    disk = CutDisk(image, place)
    try:
        disk.mount()
    except OSError as refused:
        words = f"No disk in a file can be mounted here, so no power can be cut ({refused}); root may, with /dev/loop*."
        (pytest.fail if os.environ.get("CI", "").lower() == "true" else pytest.skip)(words)
    try:
        yield disk
    finally:
        disk.unmount()
