"""Books, their stage plans, and the spreads of art that make them up."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, TypedDict

from django.db import models
from django.db.models import F, Q

from reviews.models.stage_names import stage_name
from reviews.press.page_plan import BOARD_SMALLEST, BindingKind, EndsKind
from reviews.press.pages import Piece, PieceKind, first_is_left
from reviews.rules.contract.calendars import Calendar, working_calendar
from reviews.rules.contract.day_counts import calendar_for, grace_for
from reviews.rules.contract.day_ranges import DayRange, days_of
from reviews.rules.contract.days import DayRule
from reviews.rules.contract.pauses import Pause
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, Side, StageKind


class StandingPause(TypedDict):
    """A pause that stands, as a book's row carries it; days are ISO dates."""

    pause: int
    first: str
    last: str
    reason: str


def as_standing(pauses: Iterable[Pause]) -> list[StandingPause]:
    """Write pauses as a book's row carries them."""
    return [
        StandingPause(pause=one.number, first=one.first.isoformat(), last=one.last.isoformat(), reason=one.reason)
        for one in pauses
    ]


class Book(models.Model):
    title = models.CharField(max_length=200)
    publisher = models.CharField(max_length=120, blank=True)
    trim_width_mm = models.DecimalField(max_digits=6, decimal_places=2)
    trim_height_mm = models.DecimalField(max_digits=6, decimal_places=2)
    bleed_mm = models.DecimalField(max_digits=4, decimal_places=2, default=3)
    n_pages = models.PositiveSmallIntegerField()
    binding = models.CharField(max_length=12, choices=[(b.value, b.value) for b in BindingKind])
    ends = models.CharField(max_length=12, choices=[(e.value, e.value) for e in EndsKind])
    start_on = models.DateField()
    final_on = models.DateField(null=True, blank=True)
    # The calendar the book's days are counted in: holiday places as ISO 3166 codes, and a time zone.
    places = models.JSONField(default=list, blank=True)
    zone = models.CharField(max_length=64, default="UTC")
    # How each entered version of the terms counts days, oldest first, as ``rules.day_counts`` writes it; kept beside
    # the terms so that a page can say "two days late" by the terms' own count without reading them.
    day_counts = models.JSONField(default=list, blank=True)
    # The pauses that both sides agreed on and that stand, as the ledger tells of them; kept here for the same reason.
    pauses = models.JSONField(default=list, blank=True)
    #: The book's own names for stages, by their codes (``rules.stage_names``); a stage without one has its usual name.
    stage_names = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()

    #: Not kept: every seat the book ever had, where what fetched the book brought them along. Rows of `Seat`, whose
    #: module stands on this one.
    all_seats: list[Any] | None = None

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(trim_width_mm__gt=0, trim_height_mm__gt=0, bleed_mm__gte=0), name="book_sizes_positive"
            ),
            models.CheckConstraint(condition=Q(n_pages__gte=BOARD_SMALLEST), name="book_has_pages"),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def calendar(self) -> Calendar:
        """Give the days worked on both sides."""
        return working_calendar(self.places, paused=days_of(self.paused, None))

    def calendar_of(self, side: Side, on: date | None = None) -> Calendar:
        """Give the days that count for one side, by the terms that held on a day (None: by the newest)."""
        return calendar_for(side, self.day_counts, on, self.paused) or self.calendar

    @property
    def paused(self) -> tuple[DayRange, ...]:
        """Give the days on which the work rests, as both sides agreed."""
        return tuple(
            DayRange(date.fromisoformat(told["first"]), date.fromisoformat(told["last"])) for told in self.pauses
        )

    def pause_on(self, day: date) -> StandingPause | None:
        """Find the pause in which a day falls."""
        return next((told for told in self.pauses if told["first"] <= day.isoformat() <= told["last"]), None)

    def grace_of(self, side: Side, on: date | None = None) -> int:
        """Give the working days by which a side may be over without being late, by the same terms."""
        return grace_for(side, self.day_counts, on)

    @property
    def first_is_left(self) -> bool:
        """Say whether page 1 is a left-hand page, as in a book glued from boards."""
        return first_is_left(BindingKind(self.binding), EndsKind(self.ends))

    @property
    def day_rule(self) -> DayRule:
        return DayRule(zone=self.zone)


class StagePlan(models.Model):
    """A named row of stages; a book has one for its cover and one for its inside."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="plans")
    name = models.CharField(max_length=80)
    covers = models.BooleanField(default=False, help_text="This plan is for the cover.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["book", "name"], name="plan_name_once")]

    def __str__(self) -> str:
        return self.name


class Stage(models.Model):
    plan = models.ForeignKey(StagePlan, on_delete=models.PROTECT, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in StageKind])
    gate = models.CharField(max_length=8, choices=[(g.value, g.value) for g in Gate])
    hand_in_days = models.PositiveSmallIntegerField()
    answer_days = models.PositiveSmallIntegerField()
    rounds = models.PositiveSmallIntegerField()
    group = models.CharField(max_length=40, blank=True)
    two_voices = models.BooleanField(default=False)

    class Meta:
        ordering = ["plan", "position"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "kind"], name="stage_once_per_plan"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Name the stage as the book that is spoken of does."""
        return stage_name(self.kind)

    def as_planned(self) -> PlannedStage:
        return PlannedStage(
            kind=StageKind(self.kind),
            gate=Gate(self.gate),
            hand_in_days=self.hand_in_days,
            answer_days=self.answer_days,
            rounds=self.rounds,
            group=self.group,
            two_voices=self.two_voices,
        )

    @property
    def pool_name(self) -> str:
        """Name what shares rounds with this stage within one spread: its group, or itself alone."""
        return self.group or self.kind


class Spread(models.Model):
    """One piece of art; ``removed_at`` is set when a new layout took its place, and while it is dropped.

    A dropped one (``dropped_at``) keeps all that hangs on it, and the pages and label that it had.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="spreads")
    plan = models.ForeignKey(StagePlan, on_delete=models.PROTECT, related_name="spreads")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=[(k.value, k.value) for k in PieceKind])
    label = models.CharField(max_length=60)
    first_page = models.PositiveSmallIntegerField(null=True, blank=True)
    last_page = models.PositiveSmallIntegerField(null=True, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)
    dropped_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["book", "position"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="opening") | Q(last_page=F("first_page") + 1), name="opening_has_two_pages"
            ),
            models.CheckConstraint(
                condition=Q(dropped_at=None) | Q(removed_at__isnull=False, removed_at=F("dropped_at")),
                name="dropped_is_removed",
            ),
            models.UniqueConstraint(
                fields=["book", "position"], condition=Q(removed_at=None), name="spread_position_once"
            ),
            models.UniqueConstraint(
                fields=["book", "first_page"], condition=Q(removed_at=None), name="spread_first_page_once"
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def as_piece(self) -> Piece:
        return Piece(PieceKind(self.kind), self.label, self.first_page, self.last_page)
