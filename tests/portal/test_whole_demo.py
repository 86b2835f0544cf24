"""The demo as it is shipped: painted, served, and opened by every role."""

import json
import sqlite3
import urllib.error
import urllib.request
from http.cookiejar import CookieJar

import pytest

pytestmark = pytest.mark.slow


def _status(browser: urllib.request.OpenerDirector, address: str) -> int:
    try:
        with browser.open(address, timeout=60) as page:
            return page.status
    except urllib.error.HTTPError as refusal:
        with refusal:
            return refusal.code


def test_every_role_is_let_in_and_nothing_was_left_undone(demo):
    assert len(demo.links) >= 7
    for role, link in demo.links.items():
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        with browser.open(link, timeout=60) as page:
            assert "demo/sign-in" not in page.url, role
            assert page.status == 200

        statuses = {path: _status(browser, demo.address + path) for path in ("/running/", "/books/1/")}
        runs_it = role == "runs this Roughproof"
        assert statuses["/running/"] == (200 if runs_it else 404), role
        assert (statuses["/books/1/"] == 404) == runs_it, "whoever runs the portal has no seat on the book"

    with sqlite3.connect(f"file:{demo.environment['ROUGHPROOF_DATA']}/roughproof.sqlite3?mode=ro", uri=True) as rows:
        failed = rows.execute("SELECT kind, subject_id, error FROM reviews_job WHERE state = 'failed'").fetchall()
        pictures = dict(rows.execute("SELECT state, count(*) FROM reviews_picture GROUP BY state").fetchall())
        objected = rows.execute(
            "SELECT count(*) FROM reviews_agreement said JOIN reviews_passage stands"
            " ON stands.hand_in_id = said.hand_in_id WHERE NOT said.agrees AND stands.state = 'answering'"
        ).fetchone()
    rows.close()
    assert failed == []
    assert objected == (1,), "the second sign-off says no to one spread that waits"
    assert set(pictures) == {"ready"}, json.dumps(pictures)
    assert pictures["ready"] >= 40
