"""Where files lie: the same answers from a folder of this machine and from an S3-compatible store."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import boto3
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile
from django.test import override_settings

from portal.outside import store_options
from reviews import storage
from reviews.imaging.results import METHOD, RENDITION_NAMES

DATA = bytes(range(256)) * 400
SHA256 = hashlib.sha256(DATA).hexdigest()


@pytest.fixture(params=["folder", pytest.param("s3", marks=pytest.mark.servers)])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Both kinds of storage, empty."""
    if request.param == "folder":
        backend = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": tmp_path / "kept"}}
    else:
        endpoint = request.getfixturevalue("s3_endpoint")
        keys = {"access_key": "demo", "secret_key": "demo", "region_name": "us-east-1"}
        bucket = f"pictures-{hashlib.sha256(str(tmp_path).encode()).hexdigest()[:12]}"
        boto3.client(
            "s3", endpoint_url=endpoint, aws_access_key_id="demo", aws_secret_access_key="demo", region_name="us-east-1"
        ).create_bucket(Bucket=bucket)
        options = {
            "bucket_name": bucket,
            "endpoint_url": endpoint,
            "location": "house",
            **keys,
            **store_options("path"),
        }
        backend = {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": options}
    static = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(STORAGES={"default": backend, "staticfiles": static}):
        yield request.param


def upload() -> TemporaryUploadedFile:
    file = TemporaryUploadedFile("pail.tif", "image/tiff", len(DATA), None)
    file.write(DATA)
    file.flush()
    file.seek(0)
    return file


def test_an_upload_is_kept_bit_for_bit_under_its_hash(place: str) -> None:
    file = upload()
    temporary = Path(file.temporary_file_path())
    name = storage.keep_original(file, SHA256)
    assert name == storage.original_name(SHA256)
    assert storage.exists(name)
    assert storage.size(name) == len(DATA)
    assert storage.read_all(name) == DATA
    # On this machine it was moved rather than written a second time.
    assert temporary.exists() == (place == "s3")
    file.close()


def test_a_small_upload_held_in_memory_is_kept(place: str) -> None:
    name = storage.keep_original(SimpleUploadedFile("pail.jpg", DATA), SHA256)
    assert storage.read_all(name) == DATA


def test_somebodys_own_file_is_copied_not_taken(place: str, tmp_path: Path) -> None:
    own = tmp_path / "mine.tif"
    own.write_bytes(DATA)
    assert storage.read_all(storage.keep_original(own, SHA256)) == DATA
    assert own.read_bytes() == DATA


def test_a_picture_handed_in_twice_is_kept_once(place: str, tmp_path: Path) -> None:
    storage.keep_original(SimpleUploadedFile("a.jpg", DATA), SHA256)
    again = tmp_path / "again"
    again.write_bytes(b"other bytes must not replace what is kept")
    name = storage.keep_original(again, SHA256)
    assert storage.read_all(name) == DATA


@pytest.mark.parametrize("rotten", [b"", b"FORGED", bytes(len(DATA))], ids=["empty", "short", "same size"])
@pytest.mark.parametrize("arrives", [upload, lambda: SimpleUploadedFile("a", DATA)], ids=["on disk", "in memory"])
def test_a_name_with_wrong_bytes_is_not_trusted_and_the_upload_that_matches_takes_its_place(place, rotten, arrives):
    default_storage.save(storage.original_name(SHA256), ContentFile(rotten))
    file = arrives()
    assert storage.read_all(storage.keep_original(file, SHA256)) == DATA
    file.close()


def test_bytes_that_do_not_match_never_take_the_place_of_what_stands(place: str) -> None:
    name = default_storage.save(storage.original_name(SHA256), ContentFile(b"rotten"))
    with pytest.raises(ValueError, match="SHA-256"):
        storage.keep_original(SimpleUploadedFile("a", b"something else"), SHA256)
    assert storage.read_all(name) == b"rotten"


def test_a_store_that_takes_no_writes_keeps_the_renditions_that_are_shown(place, tmp_path, monkeypatch) -> None:
    for turn in ("shown", "other"):
        (tmp_path / turn).mkdir()
        (tmp_path / turn / "thumb.jpg").write_bytes(f"the {turn} thumbnail".encode())
    name = storage.keep_rendition(SHA256, tmp_path / "shown" / "thumb.jpg")

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(type(default_storage._wrapped), "_save", full)
        patch.setattr(storage, "name_files", full)
        for anew in (False, True):
            (tmp_path / "other" / "thumb.jpg").write_bytes(b"a thumbnail of another size")
            with pytest.raises(OSError, match="No space"):
                storage.keep_rendition(SHA256, tmp_path / "other" / "thumb.jpg", anew=anew)
            assert storage.read_all(name) == b"the shown thumbnail"


def test_what_stands_is_not_written_again(place, tmp_path, monkeypatch) -> None:
    made = tmp_path / "thumb.jpg"
    made.write_bytes(b"a thumbnail")
    storage.keep_rendition(SHA256, made)
    made.write_bytes(b"a thumbnail")
    with monkeypatch.context() as patch:
        patch.setattr(storage, "_save_to_store", None)
        patch.setattr(storage, "_arrived", None)
        storage.keep_rendition(SHA256, made)
    assert not storage.has_renditions(SHA256)


def test_renditions_stand_when_all_four_do_and_none_is_empty(place, tmp_path) -> None:
    for each in RENDITION_NAMES:
        (tmp_path / each).write_bytes(b"" if each == "thumb.jpg" else each.encode())
    storage.keep_renditions(SHA256, tmp_path)
    assert not storage.has_renditions(SHA256)
    (tmp_path / "thumb.jpg").write_bytes(b"a thumbnail")
    storage.keep_renditions(SHA256, tmp_path)
    assert storage.has_renditions(SHA256)


@pytest.mark.parametrize(("offset", "length"), [(0, 10), (1000, 77), (len(DATA) - 5, 5), (3, 0)])
def test_a_span_is_read_without_the_rest(place: str, offset: int, length: int) -> None:
    name = storage.keep_original(SimpleUploadedFile("a", DATA), SHA256)
    assert storage.read_span(name, offset, length) == DATA[offset : offset + length]


def test_the_original_is_given_as_a_local_path(place: str) -> None:
    storage.keep_original(SimpleUploadedFile("a", DATA), SHA256)
    with storage.open_original_locally(SHA256) as path:
        assert path.read_bytes() == DATA
    # The copy fetched from a store is gone again; the original in a folder of course is not.
    assert path.exists() == (place == "folder")


def test_renditions_are_kept_under_the_method_that_made_them_and_replaced(place: str, tmp_path: Path) -> None:
    for turn in (b"first", b"second"):
        folder = tmp_path / turn.decode()
        folder.mkdir()
        for each in RENDITION_NAMES:
            (folder / each).write_bytes(turn + each.encode())
        names = storage.keep_renditions(SHA256, folder)
        assert [Path(name).name for name in names] == list(RENDITION_NAMES)
    name = storage.rendition_name(SHA256, "preview.jpg")
    assert METHOD in name
    assert storage.read_all(name) == b"secondpreview.jpg"


@pytest.mark.parametrize("sha256", ["", "../../etc/passwd", "A" * 64, "a" * 63, "a" * 64 + "\n"])
def test_only_a_hash_can_name_a_file(sha256: str) -> None:
    with pytest.raises(ValueError, match="64"):
        storage.original_name(sha256)


def test_what_is_kept_in_a_folder_is_read_by_its_owner_alone(tmp_path: Path) -> None:
    backend = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": tmp_path}}
    static = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(STORAGES={"default": backend, "staticfiles": static}):
        file = upload()
        name = storage.keep_original(file, SHA256)
        file.close()
        assert Path(default_storage.path(name)).stat().st_mode & 0o777 == 0o600
        assert [each.name for each in (tmp_path / "originals" / SHA256[:2]).iterdir()] == [SHA256]


def test_what_was_fetched_needs_the_store_no_more_and_no_memory(place: str, tmp_path: Path) -> None:
    content = bytes(range(256)) * 30_000
    path = tmp_path / "scan.tif"
    path.write_bytes(content)
    name = storage.keep_original(path, hashlib.sha256(content).hexdigest())
    with storage.fetch_stored(name) as fetched:
        if place == "s3":
            default_storage.delete(name)
            assert fetched.file._rolled, "it lies on the disk"
        assert fetched.read() == content


def test_a_silent_store_is_waited_for_as_long_as_it_is_said() -> None:
    options = store_options("path")
    assert (options["client_config"].connect_timeout, options["client_config"].read_timeout) == (3, 10)
    assert options["client_config"].retries["total_max_attempts"] == 2
    assert options["transfer_config"].num_download_attempts == 2
