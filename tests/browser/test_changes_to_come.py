"""The review table while its two versions are being compared, and where that is hindered."""

import pytest

from reviews.actions.jobs import claim_job, fail_job
from reviews.models import Job
from tests.browser import test_changes as changes
from tests.browser.hands import until
from tests.browser.test_changes import do_all, rail

pytestmark = [
    pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("comparisons_made_once")
]  # fmt: skip
table = changes.table


def test_the_table_does_not_wait_for_the_comparison(table):
    page = table.sit_down(table.cast.art_director)
    assert "are being compared" in rail(page).inner_text()
    lay = page.get_by_role("button", name="Overlay hand-in 1")
    assert lay.count() == 0 and not page.locator("[data-laid]").is_visible()
    do_all("compare")
    until(page, lambda: lay.count() == 1 and lay.is_enabled())
    assert page.locator(".pin.carried").count() == 2
    assert page.problems == []


@pytest.mark.parametrize("hindered_first", [True, False])
def test_what_hinders_the_comparison_is_said_instead_of_asking_to_wait(table, hindered_first):
    job, why = Job.objects.get(kind="compare", state="queued"), "The store of the pictures does not answer now."
    if hindered_first:
        fail_job(claim_job(job.pk), why)
    page = table.sit_down(table.cast.art_director)
    if not hindered_first:
        assert "are being compared" in rail(page).inner_text()
        fail_job(claim_job(job.pk), why)
    until(page, lambda: why in rail(page).inner_text())
    assert "are being compared" not in rail(page).inner_text()
    assert page.problems == []
