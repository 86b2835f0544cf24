"""What every answer tells the browser, and what no secret or session may be."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from reviews import storage
from reviews.actions import feeds
from reviews.forms.browser_words import browser_named
from reviews.models import Picture
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def as_role(cast, role) -> Client:
    client = Client()
    sign_in(client, cast.seat(role).person)
    return client


def test_pages_may_load_nothing_from_elsewhere_and_stand_in_no_frame(cast):
    for path in ("/", "/sign-in/", "/nothing-here/"):
        headers = as_role(cast, Role.EDITOR).get(path, follow=True).headers
        rules = headers["Content-Security-Policy"]
        for rule in ("default-src 'self'", "script-src 'self'", "connect-src 'self'", "frame-ancestors 'none'"):
            assert rule in rules
        assert "unsafe" not in rules
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
        assert headers["X-Frame-Options"] == "DENY"
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin"


def test_an_original_is_saved_and_never_opens_as_a_page(cast):
    handed = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    picture = handed.pictures.get()
    Picture.objects.filter(pk=picture.pk).update(file_name='fox “é”\r\nX-Evil: 1".html')
    answer = as_role(cast, Role.EDITOR).get(reverse("reviews:picture-original", args=[picture.pk]))
    answer.close()
    assert answer.headers["Content-Type"] == "application/octet-stream"
    assert answer.headers["Content-Disposition"].startswith("attachment; filename*=utf-8''fox%20%E2%80%9C%C3%A9")
    assert "X-Evil" not in answer.headers
    assert "sandbox" in answer.headers["Content-Security-Policy"]


def test_an_original_that_the_store_lost_is_said_in_a_sentence(cast):
    picture = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator).pictures.get()
    storage.remove(storage.original_name(picture.sha256))
    gone = as_role(cast, Role.EDITOR).get(reverse("reviews:picture-original", args=[picture.pk]))
    assert gone.status_code == 404
    assert "missing from the store" in gone.text


def test_secrets_of_links_have_256_bits_and_are_not_in_the_database(cast):
    from reviews.actions.seats import invite

    person = cast.illustrator.person
    asked = {"email": "wren@thimblereed.example", "name": "Wren", "role": Role.EDITOR, "actor": cast.art_director}
    link, invitation = feeds.make_calendar_link(person), invite(cast.book.pk, **asked)
    for secret in (link.secret, invitation.secret, person.stop_secret):
        assert len(bytes.fromhex(secret.partition("-")[2])) == 32
    assert link.secret.partition("-")[2] not in str(link.__dict__)
    assert invitation.secret.partition("-")[2] not in str(invitation.__dict__)


def test_a_closed_account_is_out_at_once(cast):
    client, person = as_role(cast, Role.EDITOR), cast.editor.person
    assert client.get("/").status_code == 200
    person.is_active = False
    person.save()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize(
    "path", ["/.git/config", "/manage.py", "/static/../manage.py", "/secret.key", "/var/secret.key"]
)
def test_nothing_of_the_checkout_or_the_data_folder_is_served(cast, path):
    answer = as_role(cast, Role.ART_DIRECTOR).get(path)
    assert answer.status_code == 404


def test_a_file_that_is_no_picture_opens_nowhere(cast):
    client = as_role(cast, Role.ILLUSTRATOR)
    upload = SimpleUploadedFile("fox.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>")
    passage = cast.passage("Pages 4–5", "ideas")
    client.post(reverse("reviews:add-picture", args=[passage.pk]), {"file": upload})
    picture = Picture.objects.get()
    for name in ("picture-preview", "picture-thumb"):
        assert client.get(reverse(f"reviews:{name}", args=[picture.pk])).status_code == 404


@pytest.mark.parametrize(
    ("says", "words"),
    [
        ("Mozilla/5.0 (Windows NT 10.0; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Windows"),
        ("Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 Chrome/140 Safari/537.36", "Chrome or Chromium on Linux"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18 Safari/604.1", "Safari on an iPhone"),
        ("curl/8", "curl/8"),
        ("", "A browser that did not say which"),
    ],
)
def test_a_browser_is_called_as_people_call_it(says, words):
    assert browser_named(says) == words
