"""A press repeated after a lost answer is done once, whatever was lost: the answer, the worker, the database."""

import json
import re
import threading

import pytest
from django.test import Client
from django.urls import reverse

from reviews.actions.presses import forget_old_presses
from reviews.models import KeyedPress, Note, Picture
from reviews.queries.store_turns import StoreSilent
from tests.cast import gather, sign_in
from tests.makers import a_book, a_jpeg, handed_in

pytestmark = pytest.mark.django_db(transaction=True)

BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}


@pytest.fixture
def table():
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    picture = handed_in(passage, cast.illustrator).pictures.first()
    client = Client()
    sign_in(client, cast.art_director.person)
    return cast, passage, picture, client


def note_of(picture, words="Let the tarn be wider.", **more):
    return {"picture": picture.pk, "region": json.dumps(BOX), "words": words, "cause": "direction", **more}


def test_every_posting_form_carries_a_key_of_its_own(table):
    _, passage, _, client = table
    page = client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()
    keys = re.findall(r'name="press" value="([\w-]{20,})"', page)
    assert len(keys) == page.count('name="csrfmiddlewaretoken"') > 1
    assert len(set(keys)) == len(keys)


def test_a_note_pressed_twice_after_a_lost_answer_stands_once_and_is_answered_the_same(table):
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    given = note_of(picture, press="k" * 22)
    first = client.post(url, given, headers={"Accept": "application/json"})
    again = client.post(url, given, headers={"Accept": "application/json"})
    assert first.json() == again.json()
    assert Note.objects.count() == 1


def test_without_a_script_the_second_press_leads_to_the_same_page(table):
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    first, again = (client.post(url, note_of(picture, press="k" * 22)) for _ in range(2))
    assert (first.status_code, first.url) == (again.status_code, again.url)
    assert Note.objects.count() == 1


def test_an_answer_lost_with_the_server_is_not_done_twice(table, monkeypatch):
    """As when the database's backend died after the commit: the deed holds, its answer was a 500."""
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    given = note_of(picture, press="k" * 22)
    client.raise_request_exception = False
    with monkeypatch.context() as broken:
        broken.setattr("reviews.views.notes.done", lambda *_, **__: 1 / 0)
        assert client.post(url, given, headers={"Accept": "application/json"}).status_code == 500
    assert Note.objects.count() == 1
    again = client.post(url, given, headers={"Accept": "application/json"})
    assert again.status_code == 200
    assert "not done twice" in again.json()["sentence"]
    assert Note.objects.count() == 1


def test_the_same_form_with_other_words_is_another_press(table):
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    for words in ("Let the tarn be wider.", "Fewer reeds.", "Let the tarn be wider."):
        client.post(url, note_of(picture, words=words, press="k" * 22))
    assert Note.objects.count() == 2


def test_another_person_with_the_same_key_is_another_press(table):
    cast, passage, picture, client = table
    other = Client()
    sign_in(other, cast.editor.person)
    for one in (client, other):
        one.post(reverse("reviews:pin-note", args=[passage.pk]), note_of(picture, press="k" * 22))
    assert Note.objects.count() == 2


def test_a_refused_press_may_be_pressed_again(table):
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    refused = client.post(url, note_of(picture, words="", press="k"), headers={"Accept": "application/json"})
    assert refused.status_code == 409
    assert not KeyedPress.objects.exists()
    assert client.post(url, note_of(picture, press="k"), headers={"Accept": "application/json"}).status_code == 200


def test_two_at_the_same_moment_are_one(table):
    _, passage, picture, client = table
    url = reverse("reviews:pin-note", args=[passage.pk])
    statuses = []

    def press():
        one = Client()
        one.cookies = client.cookies
        statuses.append(one.post(url, note_of(picture, press="k"), headers={"Accept": "application/json"}).status_code)

    threads = [threading.Thread(target=press) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses == [200] * 4
    assert Note.objects.count() == 1


def test_a_picture_sent_twice_lies_in_the_draft_once(table):
    from django.core.files.uploadedfile import SimpleUploadedFile

    cast, _, _, _ = table
    passage = cast.passage("Pages 4–5", "ideas")
    client = Client()
    sign_in(client, cast.illustrator.person)
    answers = [
        client.post(
            reverse("reviews:add-picture", args=[passage.pk]),
            {"file": SimpleUploadedFile("idea.jpg", a_jpeg(7), content_type="image/jpeg")},
            headers={"Accept": "application/json", "X-Press": "k"},
        ).json()
        for _ in range(2)
    ]
    assert answers[0]["id"] == answers[1]["id"]
    assert Picture.objects.filter(hand_in__passage=passage).count() == 1


def test_several_files_of_one_plain_form_are_all_kept(table):
    from django.core.files.uploadedfile import SimpleUploadedFile

    cast, _, _, _ = table
    passage = cast.passage("Pages 4–5", "ideas")
    client = Client()
    sign_in(client, cast.illustrator.person)
    files = [SimpleUploadedFile(f"{n}.jpg", a_jpeg(n), content_type="image/jpeg") for n in (1, 2, 3)]
    client.post(reverse("reviews:add-picture", args=[passage.pk]), {"file": files}, headers={"X-Press": "k"})
    assert Picture.objects.filter(hand_in__passage=passage).count() == 3


def test_an_upload_that_failed_at_the_store_is_kept_by_the_second_press(table, monkeypatch):
    """What was not kept was not pressed: told that it arrived the first time, nobody would send it again."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    cast, _, _, _ = table
    passage = cast.passage("Pages 4–5", "ideas")
    client = Client()
    sign_in(client, cast.illustrator.person)

    def send():
        file = SimpleUploadedFile("idea.jpg", a_jpeg(7), content_type="image/jpeg")
        headers = {"Accept": "application/json", "X-Press": "k"}
        return client.post(reverse("reviews:add-picture", args=[passage.pk]), {"file": file}, headers=headers)

    def away(*_):
        raise StoreSilent("silent")

    client.raise_request_exception = False
    with monkeypatch.context() as broken:
        broken.setattr("reviews.storage.keep_original", away)
        assert send().status_code == 503
    assert not KeyedPress.objects.exists()
    again = send()
    assert again.status_code == 200
    assert again.json()["id"] == Picture.objects.get(hand_in__passage=passage).pk
    assert send().json() == again.json()
    assert Picture.objects.filter(hand_in__passage=passage).count() == 1


def test_a_form_of_three_files_that_failed_at_the_second_keeps_the_rest_when_pressed_again(table, monkeypatch):
    from django.core.files.uploadedfile import SimpleUploadedFile

    from reviews import storage

    cast, _, _, _ = table
    passage = cast.passage("Pages 4–5", "ideas")
    client = Client()
    sign_in(client, cast.illustrator.person)

    def send():
        files = [SimpleUploadedFile(f"{n}.jpg", a_jpeg(n), content_type="image/jpeg") for n in (1, 2, 3)]
        url = reverse("reviews:add-picture", args=[passage.pk])
        return client.post(url, {"file": files, "press": "k" * 22}, follow=True)

    def names():
        return sorted(Picture.objects.filter(hand_in__passage=passage).values_list("file_name", flat=True))

    keep = storage.keep_original

    def away_at_the_second(file, sha256):
        if file.name == "2.jpg":
            raise StoreSilent("silent")
        return keep(file, sha256)

    client.raise_request_exception = False
    with monkeypatch.context() as broken:
        broken.setattr("reviews.storage.keep_original", away_at_the_second)
        assert send().status_code == 503
    assert names() == ["1.jpg"]
    assert "not done twice" not in send().content.decode()
    assert names() == ["1.jpg", "2.jpg", "3.jpg"]
    assert "not done twice" in send().content.decode()
    assert names() == ["1.jpg", "2.jpg", "3.jpg"]


def test_old_presses_are_forgotten(table, monkeypatch):
    _, passage, picture, client = table
    client.post(reverse("reviews:pin-note", args=[passage.pk]), note_of(picture, press="k"))
    assert forget_old_presses() == 0
    KeyedPress.objects.update(at="2020-01-01T00:00Z")
    assert forget_old_presses() == 1
