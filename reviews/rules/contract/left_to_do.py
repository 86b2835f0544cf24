"""What is left of each spread: the stages that are not done, but for those that were passed over."""

from __future__ import annotations

from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.passed_over import are_passed_over
from reviews.rules.states import PassageState

_DONE = (PassageState.APPROVED, PassageState.PASSED)


def left_by_spread(story: Story) -> list[list[PassageStory]]:
    """Gather by spread, in page order, what is not done yet; a stage that opens by itself no more is not to be done."""
    spreads: dict[int, list[PassageStory]] = {}
    for passage_story in story.in_order():
        spreads.setdefault(passage_story.spread.spread, []).append(passage_story)
    left = ([one for one in row if one.state not in _DONE] for row in map(_not_passed_over, spreads.values()))
    return [row for row in left if row]


def _not_passed_over(row: list[PassageStory]) -> list[PassageStory]:
    over = are_passed_over([one.state for one in row])
    return [one for one, is_over in zip(row, over, strict=True) if not is_over]
