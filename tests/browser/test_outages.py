"""A server that fails never blames the file, and what was lost on the way is sent again without standing twice."""

import os

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews import jobs
from reviews.actions.jobs import claim_job, fail_job
from reviews.actions.standing import seen
from reviews.models import Job, Note, Person, Picture, StoreCheck
from reviews.views import hand_ins
from tests.cast import gather
from tests.makers import a_book, a_jpeg, draft, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHOTS = os.environ.get("OUTAGE_SHOTS")  # a folder: keep the pages that were looked at
GIVEN_UP = (
    "The store of the pictures does not answer now. It was tried for three days and then given up; nothing is wrong "
    "with what you sent."
)


def look(page, name: str) -> None:
    """Hold a page against three widths: nothing runs out of it sideways."""
    for width in (1440, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, (name, width)
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/{name}-{width}.png", full_page=True)


@pytest.mark.parametrize("lost", ["before", "after"])
def test_a_failing_server_never_blames_the_file_and_one_press_sends_it_once(visit, monkeypatch, lost):
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    page = visit(cast.illustrator.person, reverse("reviews:draft-hand-in", args=[passage.pk]), has_pictures=False)
    keep = hand_ins._keep_all

    def fail(*arguments):
        if lost == "after":
            keep(*arguments)
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(hand_ins, "_keep_all", fail)
        page.set_input_files("#choose", {"name": "idea.jpg", "mimeType": "image/jpeg", "buffer": a_jpeg(3)})
        standing = page.locator("[data-pictures] [data-standing]")
        page.wait_for_selector("text=Send it again")
        assert "no room left on the disk" in standing.inner_text()
        assert "refused" not in standing.inner_text()
        look(page, f"failing-{lost}")
    page.click("text=Send it again")
    if lost == "after":
        page.wait_for_selector("text=This arrived the first time and is kept")
        page.click("text=Show it here")
    page.wait_for_selector("[data-pictures] > li[data-picture]")
    picture = Picture.objects.get(removed_at=None)
    assert page.get_attribute("[data-pictures] > li", "data-picture") == str(picture.pk)
    assert "Send it again" not in page.content()


def test_a_note_whose_answer_was_lost_is_written_once(visit):
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    picture = handed_in(passage, cast.illustrator, (1,)).pictures.get()
    page = visit(cast.art_director.person, reverse("reviews:passage", args=[passage.pk]), has_pictures=False)
    # The answer is lost on the way back: the deed is done, the browser hears nothing of it.
    url = reverse("reviews:pin-note", args=[passage.pk])
    seen_keys = []

    def lose(route):
        seen_keys.append(route.request.headers["x-press"])
        route.fetch()
        route.abort()

    page.route(f"**{url}", lose, times=1)
    script = """async ([url, picture]) => {
      const { post, tokenOf } = await import("/static/js/posting.js");
      const given = () => { const data = new FormData();
        data.append("picture", picture); data.append("cause", "direction");
        data.append("words", "Let the tarn be wider.");
        data.append("region", JSON.stringify({ kind: "box", points: [[0.1, 0.1], [0.4, 0.5]] })); return data; };
      const token = tokenOf(document);
      const said = [];
      for (let n = 0; n < 3; n += 1) {
        said.push(await post(url, given(), token).then((answer) => answer.note.id, (problem) => problem.message));
      }
      return said;
    }"""
    lost, again, other = page.evaluate(script, [url, picture.pk])
    assert "did not arrive" in lost
    assert Note.objects.filter(pk=again).exists()
    assert other != again, "pressed anew after an answer, it is a press of its own"
    assert Note.objects.count() == 2


def test_a_note_that_stands_already_is_shown_and_no_error_where_its_answer_could_not_be_kept(visit, monkeypatch):
    """As when the process died between deed and answer: pressed again, the script gets a sentence and no note."""
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    handed_in(passage, cast.illustrator, (1,))
    page = visit(cast.art_director.person, reverse("reviews:passage", args=[passage.pk]))
    page.get_by_role("button", name="Point").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.get_by_label("What do you ask for here?").fill("Let the tarn be wider.")
    page.check("[name=cause][value=direction]")
    write = page.get_by_role("button", name="Write it in the letter")
    with monkeypatch.context() as broken:
        broken.setattr("reviews.views.notes.done", lambda *_, **__: 1 / 0)
        write.click()
        page.wait_for_selector("[data-note-form] >> text=It is our fault")
    assert page.get_by_label("What do you ask for here?").input_value() == "Let the tarn be wider."
    write.click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    page.wait_for_selector("[data-said] >> text=This arrived the first time and is kept")
    note = Note.objects.get()
    assert "Let the tarn be wider." in page.locator(f"[data-note='{note.pk}']").inner_text()


def test_the_same_order_again_after_another_one_is_a_press_of_its_own(visit):
    """Its first answer was lost; what was asked in between came later, so the key of the first is spent."""
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    made = draft(passage, cast.illustrator, (1, 2))
    first, second = made.pictures.values_list("pk", flat=True)
    page = visit(cast.illustrator.person, reverse("reviews:draft-hand-in", args=[passage.pk]))
    url = reverse("reviews:order-pictures", args=[made.pk])

    def lose(route):
        route.fetch()
        route.abort()

    page.route(f"**{url}", lose, times=1)
    script = """async ([url, orders]) => {
      const { post, tokenOf } = await import("/static/js/posting.js");
      const said = [];
      for (const order of orders) {
        const data = new FormData();
        data.append("order", order);
        const answered = post(url, data, tokenOf(document));
        said.push(await answered.then((answer) => answer.sentence, (problem) => problem.message));
      }
      return said;
    }"""
    turned, as_it_was = f"{second},{first}", f"{first},{second}"
    said = page.evaluate(script, [url, [turned, as_it_was, turned]])
    assert "did not arrive" in said[0]
    assert said[1:] == ["The order is kept."] * 2
    assert list(made.pictures.order_by("position").values_list("pk", flat=True)) == [second, first]


def test_what_was_given_up_is_read_where_people_look(visit):
    cast = gather(a_book())
    Person.objects.filter(pk=cast.illustrator.person_id).update(runs_portal=True)
    seen("worker")
    passage = cast.passage("Cover", "ideas")
    draft(passage, cast.illustrator, (1, 2), ready=False)
    for job in Job.objects.filter(kind__in=[jobs.RENDITIONS, jobs.INVITATION]):
        fail_job(claim_job(job.pk), "stayed-away", what="store")
    person = Person.objects.get(pk=cast.illustrator.person_id)
    page = visit(person, reverse("reviews:draft-hand-in", args=[passage.pk]), has_pictures=False)
    page.wait_for_timeout(1500)
    assert page.locator("[data-pictures] .trouble").count() == 2
    look(page, "draft")
    page.locator("[data-pictures] .try-again button").first.click()
    page.wait_for_selector("text=The picture is being processed again.")
    name = f"originals/ab/{'ab' * 32}"
    fault = {"code": "original-missing", "name": name, "pictures": [1], "repaired": False, "shard": 0}
    StoreCheck.objects.create(
        begun_at=timezone.now(), finished_at=timezone.now(), first_shard=0, end_shard=8, n_faults=1, faults=[fault]
    )
    page = visit(person, reverse("reviews:running"))
    assert "the original is missing" in page.inner_text("main")
    assert not page.problems
    look(page, "running")
