"""The demo as it is shipped: painted, served, and opened by every role."""

import json
import sqlite3
import urllib.error
import urllib.request
from http.cookiejar import CookieJar

import pytest

pytestmark = pytest.mark.slow

#: What a visitor finds in the demo, as the rows that make it.
SHOWN = {
    "a brief of a spread": "reviews_brief WHERE spread_id IS NOT NULL",
    "a brief of the book": "reviews_brief WHERE spread_id IS NULL",
    "a note on a whole spread": "reviews_note WHERE reach = 'spread'",
    "a note on the whole book": "reviews_note WHERE reach = 'book'",
    "a printer's fault on a proof of production": "reviews_note n JOIN reviews_picture p ON p.id = n.picture_id"
    " JOIN reviews_handin h ON h.id = p.hand_in_id JOIN reviews_seat s ON s.id = h.by_id"
    " WHERE n.cause = 'printer' AND s.role = 'production'",
    "a cover note": "reviews_handin WHERE cover_note <> '' AND handed_in_at IS NOT NULL",
    "a vote that is decided": "reviews_optionvote WHERE decided_at IS NOT NULL",
    "a vote that takes ballots": "reviews_optionvote WHERE closed_at IS NULL",
    "main colours for the wall": "reviews_picture WHERE facts LIKE '%\"colours\": [[%'",
    "a spread dropped by both sides": "reviews_spread WHERE dropped_at IS NOT NULL AND EXISTS"
    " (SELECT 1 FROM reviews_proposal WHERE matter = 'pages' AND state = 'accepted')",
}


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
        shown = {what: rows.execute(f"SELECT count(*) FROM {counted}").fetchone()[0] for what, counted in SHOWN.items()}
    rows.close()
    assert failed == []
    assert all(shown.values()), shown
    assert objected == (1,), "the second sign-off says no to one spread that waits"
    assert set(pictures) == {"ready"}, json.dumps(pictures)
    assert pictures["ready"] >= 40
