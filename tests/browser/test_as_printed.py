"""A picture as printed on the board: only what is made of the picture that lies there, in Chromium without a server."""

from __future__ import annotations

import pytest

from tests.browser.test_table_arithmetic import page  # noqa: F401

pytestmark = pytest.mark.browser

ASKED = """async (leaves) => {
  const { SoftProof } = await import("/js/table/soft-proof.js");
  const parts = new Map();
  const one = (name) => {
    if (!parts.has(name)) parts.set(name, document.createElement(name === "which-proof" ? "select" : "button"));
    return parts.get(name);
  };
  const laid = [];
  const layer = (url) => ({ addTo: () => laid.push(url), remove: () => {} });
  const L = { imageOverlay: layer };
  const viewer = { picture: { id: 1, width_px: 4, height_px: 2 }, addPane: () => {}, map: {}, L };
  one("as-printed").dataset.proofs = "/pictures/_/as-printed/";
  const proofs = [{ id: 7, told: "by a press", url: "of-picture-1.jpg", outside_url: "" }];
  let answered;
  const answer = { ok: true, json: async () => ({ proofs }) };
  window.fetch = () => new Promise((found) => { answered = () => found(answer); });
  const soft = new SoftProof({ one, viewer, say: () => {} });
  const asked = soft.ask();
  if (leaves) viewer.picture = { id: 2, width_px: 4, height_px: 2 };
  answered();
  await asked;
  return laid;
}"""


@pytest.mark.parametrize(("leaves", "laid"), [(False, ["of-picture-1.jpg"]), (True, [])])
def test_what_comes_after_another_picture_was_shown_is_not_laid_over_it(page, leaves, laid):  # noqa: F811
    assert page.evaluate(ASKED, leaves) == laid
