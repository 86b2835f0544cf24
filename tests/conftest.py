"""What every test stands on: no network, a database like the real one, a ledger that tests may empty."""

import hashlib
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import TransactionTestCase


class NetworkUsed(AssertionError):
    """A test reached for the network; only this machine's own addresses are open."""


def _is_local(host: object) -> bool:
    if host in (None, "", "localhost"):
        return True
    try:
        return ip_address(str(host).split("%")[0]).is_loopback or str(host) in {"0.0.0.0", "::"}
    except ValueError:
        return False


@pytest.fixture(autouse=True, scope="session")
def _no_network() -> Iterator[None]:
    """Refuse connections and name look-ups that leave this machine."""
    patch = pytest.MonkeyPatch()
    for name in ("connect", "connect_ex"):
        real = getattr(socket.socket, name)

        def guarded(self, address, *, _real=real):
            if self.family in (socket.AF_INET, socket.AF_INET6) and not _is_local(address[0]):
                raise NetworkUsed(f"A test tried to reach {address[0]}.")
            return _real(self, address)

        patch.setattr(socket.socket, name, guarded)
    real_look_up = socket.getaddrinfo

    def look_up(host, *args, **kwargs):
        if not _is_local(host.decode() if isinstance(host, bytes) else host):
            raise NetworkUsed(f"A test tried to look up {host}.")
        return real_look_up(host, *args, **kwargs)

    patch.setattr(socket, "getaddrinfo", look_up)
    yield
    patch.undo()


@contextmanager
def triggers_lifted() -> Iterator[None]:
    """Take SQLite's triggers away for a moment: emptying the tables after a test is what they refuse."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f'DROP TRIGGER "{name}"')
        try:
            yield
        finally:
            for _, sql in triggers:
                cursor.execute(sql)


@pytest.fixture(autouse=True)
def _nothing_kept() -> None:
    """Start each test with nothing counted before: how many queries a page takes must not hang on the order."""
    cache.clear()


@pytest.fixture(autouse=True, scope="session")
def _tables_can_be_emptied() -> Iterator[None]:
    patch = pytest.MonkeyPatch()
    empty = TransactionTestCase._fixture_teardown

    def lift_and_empty(self: TransactionTestCase) -> None:
        with triggers_lifted():
            empty(self)

    patch.setattr(TransactionTestCase, "_fixture_teardown", lift_and_empty)
    yield
    patch.undo()


@pytest.fixture(scope="session")
def _comparisons_made() -> dict[tuple, Any]:
    return {}


@pytest.fixture
def comparisons_made_once(monkeypatch: pytest.MonkeyPatch, _comparisons_made: dict[tuple, Any]) -> None:
    """Let the worker compare the same pixels, width and notes once in a run: for tests of what comes of it."""
    from reviews.tasks import comparisons

    real, known = comparisons.compare, _comparisons_made

    def compare(a: Any, b: Any, width_mm: float, notes: Any = ()) -> Any:
        key = (*(hashlib.sha256(one.tobytes()).digest() for one in (a, b)), a.shape, b.shape, width_mm, tuple(notes))
        if key not in known:
            known[key] = real(a, b, width_mm, notes)
        return known[key]

    monkeypatch.setattr(comparisons, "compare", compare)
