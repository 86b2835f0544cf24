"""Pictures stand in the order in which they were chosen, however long each takes to be sent."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from reviews.models import HandIn
from tests.cast import gather
from tests.makers import a_book, a_jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


HELD_UP = """
const send = XMLHttpRequest.prototype.send;
XMLHttpRequest.prototype.send = function (body) {
  const isHeldUp = body instanceof FormData && /^[135]/.test(body.get("file")?.name ?? "");
  setTimeout(() => send.call(this, body), isHeldUp ? 700 : 0);
};
"""


@pytest.fixture
def studio(visit: Any) -> Any:
    """The illustrator's draft, where every odd file is held up on its way."""
    cast = gather(a_book())
    page = visit(
        cast.illustrator.person, reverse("reviews:draft-hand-in", args=[cast.passage("Pages 4–5", "ideas").pk])
    )

    page.add_init_script(HELD_UP)
    page.reload()
    return page


def files(*names: str) -> list[dict[str, Any]]:
    return [{"name": name, "mimeType": "image/jpeg", "buffer": a_jpeg(n)} for n, name in enumerate(names)]


def kept() -> list[str]:
    draft = HandIn.objects.get()
    return list(draft.pictures.filter(removed_at=None).order_by("position", "pk").values_list("file_name", flat=True))


def shown(page: Any) -> list[str]:
    return page.locator("[data-pictures] [data-name]").all_inner_texts()


def test_two_sent_at_once_stay_in_the_order_chosen(studio: Any) -> None:
    names = [f"{n}.jpg" for n in range(1, 7)]
    studio.set_input_files("[data-choose]", files(*names))
    studio.locator("[data-pictures] > li[data-picture]").nth(5).wait_for()
    assert shown(studio) == names
    assert kept() == names
    studio.reload()
    assert shown(studio) == names


def test_an_order_changed_while_files_are_sent_is_kept_once_they_are(studio: Any) -> None:
    studio.set_input_files("[data-choose]", files("1.jpg", "2.jpg", "3.jpg"))
    studio.locator("[data-pictures] > li").nth(2).locator("[data-earlier]").click()
    with studio.expect_response("**/order/"):
        studio.locator("[data-pictures] > li[data-picture]").nth(2).wait_for()
    assert kept() == shown(studio) == ["1.jpg", "3.jpg", "2.jpg"]


def test_files_of_one_name_are_told_apart(studio: Any) -> None:
    studio.set_input_files("[data-choose]", files("scan.jpg"))
    studio.locator("[data-pictures] > li[data-picture]").first.wait_for()
    studio.set_input_files("[data-choose]", files("scan.jpg"))
    studio.locator("[data-pictures] > li[data-picture]").nth(1).wait_for()
    assert shown(studio) == kept() == ["scan.jpg", "scan (2).jpg"]


def test_there_is_one_thing_to_press_in_the_drop_zone(studio: Any) -> None:
    chooser = studio.locator("[data-choose]")
    assert chooser.evaluate("input => input.getBoundingClientRect().width") <= 1
    label = studio.locator(".drop label")
    assert label.evaluate("label => label.getBoundingClientRect().height") >= 24
    with studio.expect_file_chooser() as chosen:
        label.click()
    assert chosen.value.is_multiple()
    chooser.focus()
    assert label.evaluate("label => getComputedStyle(label).outlineStyle") == "solid"
