"""A file of several pages says so, and its pages come into the list as pictures without the draft being loaded anew."""

from __future__ import annotations

import os
from typing import Any

import pytest
from django.urls import reverse

from reviews.models import Job
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.makers import a_book
from tests.views.test_pages_of_files import a_file, in_draft

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHOTS = os.environ.get("DRAFT_SHOTS")  # a folder: keep the pages that were looked at


def work() -> None:
    while job := Job.objects.filter(state="queued", kind__in=["renditions", "derive"]).order_by("pk").first():
        run_job(job.pk)


def test_pages_of_a_pdf_are_chosen_and_put_upright(visit: Any) -> None:
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    page = visit(cast.illustrator.person, reverse("reviews:draft-hand-in", args=[passage.pk]))
    file = {"name": "ideas.pdf", "mimeType": "application/pdf", "buffer": a_file("PDF")}
    page.set_input_files("[data-choose]", file)
    page.locator("[data-pictures] > li[data-picture]").wait_for()
    work()
    page.get_by_text("Page 1 of 4 is taken, and no other.").wait_for()
    page.fill("#cover-note", "Three ideas.")
    if SHOTS:
        page.get_by_role("button", name="Take all 4 pages").wait_for()
        for width in (1440, 820, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, width
            page.screenshot(path=f"{SHOTS}/pages-{width}.png", full_page=True)
    page.get_by_label("or pages").fill("2-4")
    page.get_by_role("button", name="Take these").click()
    page.get_by_text("3 pages are being taken out of ideas.pdf").wait_for()
    assert page.input_value("#cover-note") == "Three ideas.", "what was written is kept"
    work()
    page.locator("[data-pictures] > li:nth-child(3)").wait_for()
    names = page.locator("[data-pictures] [data-name]").all_inner_texts()
    assert names == [name for name, _ in in_draft()] == [f"ideas, page {n}.pdf" for n in (2, 3, 4)]
    page.get_by_role("checkbox", name="ideas, page 3.pdf").check()
    page.get_by_label("Turn it").select_option("upside down")
    page.get_by_label("Bottom").fill("10")
    page.get_by_role("button", name="Turn and crop").click()
    page.get_by_text("The picture is being turned").wait_for()
    work()
    page.get_by_role("button", name="Use it in place of the picture").click()
    page.get_by_text("is in the draft now").wait_for()
    assert [name for name, _ in in_draft()] == ["ideas, page 2.pdf", "ideas, page 3, turned.png", "ideas, page 4.pdf"]
    assert page.problems == []
