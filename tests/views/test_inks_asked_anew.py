"""Inks of drafts and of older hand-ins are measured anew where the figures change, and asked for where nobody asked."""

from __future__ import annotations

import pytest

from reviews import jobs
from reviews.actions.print_checks import ask_where_nobody_asked
from reviews.models import InkCheck, Job, Passage
from tests.cast import sign_in
from tests.views.test_on_page import (  # noqa: F401  # cast is a fixture
    CMYK_PROFILE,
    art,
    cast,
    check_page,
    handed,
    in_draft,
    measured,
    px,
    table,
    tiff,
)
from tests.views.test_print_set_up import PAPER, send

pytestmark = pytest.mark.django_db


def test_pictures_of_before_are_measured_when_the_print_set_up_is_set(client, cast):  # noqa: F811
    picture = in_draft(cast, "colour", tiff(art(px(126), px(66), 10), "CMYK", CMYK_PROFILE))
    handed(picture, cast)
    Job.objects.filter(kind=jobs.PRINT_CHECK).delete()
    InkCheck.objects.all().delete()
    sign_in(client, cast.production.person)
    send(client, cast.book, **PAPER)
    assert Job.objects.filter(kind=jobs.PRINT_CHECK).count() == 1


def not_measured(client, passage: Passage) -> bool:
    return "Ink has not been measured" in table(client, passage)


def test_drafts_and_what_was_replaced_are_measured_anew_too_where_the_figures_change(client, cast):  # noqa: F811
    first = in_draft(cast, "colour", tiff(art(px(126), px(66), 31), "CMYK", CMYK_PROFILE))
    passage = handed(first, cast)
    Passage.objects.filter(pk=passage.pk).update(state="drawing")
    draft = in_draft(cast, "colour", tiff(art(px(126), px(66), 32), "CMYK", CMYK_PROFILE), name="second.tif")
    measured()
    sign_in(client, cast.production.person)
    assert send(client, cast.book, ink_limit="240", **PAPER).status_code == 302
    measured()
    asked = set(InkCheck.objects.filter(limit=240, result__isnull=False).values_list("sha256", flat=True))
    assert asked == {first.sha256, draft.sha256}
    sign_in(client, cast.illustrator.person)
    assert "Ink has not been measured" not in check_page(client, cast, "colour")


def test_files_that_came_before_inks_were_measured_are_asked_for_once_by_the_day(client, cast):  # noqa: F811
    passage = handed(in_draft(cast, "colour", tiff(art(px(126), px(66), 33), "CMYK", CMYK_PROFILE)), cast)
    InkCheck.objects.all().delete()
    Job.objects.filter(kind=jobs.PRINT_CHECK).delete()
    sign_in(client, cast.art_director.person)
    assert not_measured(client, passage)
    assert ask_where_nobody_asked() == 1 and ask_where_nobody_asked() == 0
    measured()
    assert not not_measured(client, passage)
