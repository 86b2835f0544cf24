"""What the schedule's picture says beside what it draws."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.pages.wording.dates import day_and_month, day_words, working_days
from reviews.pages.wording.kept import kept_by_language
from reviews.pages.wording.names import side_words, stage_words
from reviews.pages.wording.outlook import likely_and_safe
from reviews.rules.schedule import Band, Bar, DateMark, Now


@kept_by_language
def had_words(bar: Bar) -> str:
    """Say who had it, from when until when, and how many working days of it were late."""
    values = {
        "side": side_words(bar.side),
        "from_on": day_words(bar.from_on),
        "until_on": day_words(bar.until_on),
        "days": working_days(bar.working),
    }
    if bar.is_open:
        told = _("with the {side} from {from_on} and still has it, {days}").format(**values)
    else:
        told = _("with the {side} from {from_on} until {until_on}, {days}").format(**values)
    return _("{told}, {late} late").format(told=told, late=working_days(bar.late)) if bar.late else told


def bar_words(bar: Bar) -> str:
    """Say of a bar what stage it is, and who had it when."""
    return f"{stage_words(bar.stage)}: {had_words(bar)}"


def mark_words(mark: DateMark) -> str:
    """Say which date a mark stands for."""
    told = _("{stage}: planned for {day}") if mark.is_planned else _("{stage}: now due on {day}")
    return told.format(stage=stage_words(mark.stage), day=day_words(mark.on))


def band_words(band: Band) -> str:
    """Say between which days an end may fall."""
    return _("done {days}").format(days=likely_and_safe(band.p50_on, band.p80_on))


def now_words(now: Now | None) -> str:
    """Say in short where a spread stands."""
    if now is None:
        return _("Done")
    values = {"stage": stage_words(now.stage), "side": side_words(now.side)}
    if now.due_on is None:
        return _("{stage} with the {side}").format(**values)
    told = _("{stage} with the {side}, was due {day}") if now.is_late else _("{stage} with the {side}, due {day}")
    return told.format(day=day_and_month(now.due_on), **values)


def both_days(band: Band) -> str:
    """Write both days of a band shortly, once where they are the same."""
    likely = day_and_month(band.p50_on)
    if band.p50_on == band.p80_on:
        return likely
    return _("{likely} to {safe}").format(likely=likely, safe=day_and_month(band.p80_on))
