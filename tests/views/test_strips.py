"""What just happened is told by the page that somebody sees, not by one that a script reads on the way there."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.cast import gather, sign_in
from tests.makers import a_book, draft

pytestmark = pytest.mark.django_db
BY_SCRIPT = {"X-Read-By": "script"}


@pytest.mark.parametrize(("headers", "is_left"), [(BY_SCRIPT, True), ({}, False)])
def test_a_page_read_by_a_script_leaves_the_strip_to_the_next_page(client, headers, is_left):
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    sign_in(client, cast.illustrator.person)
    handed = client.post(reverse("reviews:hand-in", args=[draft(passage, cast.illustrator).pk]), {"cover_note": ""})
    assert handed.status_code == 302
    between = client.get(reverse("reviews:check-draft", args=[passage.pk]), headers=headers).content.decode()
    seen = client.get(handed["Location"]).content.decode()
    told = "Handed in: number 1"
    assert (told in between, told in seen) == (not is_left, is_left)
