"""The report as an HTML page.

It has no scripts and fetches nothing, which its Content Security Policy enforces. Every text is escaped;
every chart has a title, a description and a table beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from markupsafe import Markup

from onsite.core.text import format_money, plural, shown
from onsite.files.program_resources import template_environment, template_text
from onsite.messages.languages import CATALOGUES
from onsite.messages.message_catalogue import Catalogue, catalogue
from onsite.report.report_charts import ChartRow, bar_chart, column_chart
from onsite.report.report_numbers import SLOT, GroupLine, ReportFacts, ReportNumbers, Slot
from onsite.roster.roster_groups import group_sort_key
from onsite.status.person_status import Stage, people_by_group, stage_key

_MOST_COLUMNS = 30
"""Columns of the chart of frames per person; larger numbers of frames share the last column."""


@dataclass(frozen=True, slots=True)
class _StageLine:
    word: str
    people: int
    bar: Markup


@dataclass(frozen=True, slots=True)
class _DrawnGroup:
    group: GroupLine
    bar: Markup


@dataclass(frozen=True, slots=True)
class _Day:
    day: date
    slots: Sequence[Slot]
    chart: Markup


def report_html(facts: ReportFacts, numbers: ReportNumbers, books: bool = False) -> str:
    """The page for the client, without costs, retouchers and the count of frames; with `books`, the
    photographer's page with all of them."""
    package = "onsite.report"
    zone = facts.made.tzinfo
    words = catalogue(CATALOGUES[0] if books else facts.language)
    pages = template_environment(
        package,
        shown=shown,
        day=words.day,
        local_day=lambda moment: words.day(moment.astimezone(zone)),
        clock=words.clock,
        number=words.number,
        counted=plural,
        minutes=lambda minutes: words.text("report-minutes", count=int(minutes >= 1) and round(minutes)),
        money=format_money,
    )
    title = words.text("report-books-title" if books else "report-client-title", name=shown(facts.name))
    css = Markup(template_text(package, "report.css"))
    whole = pages.get_template("report.html")
    drawn = _drawn(facts, numbers, words)
    about = {"books": books, "title": title, "lang": words.tag, "t": words.text}
    return whole.render(facts=facts, n=numbers, css=css, **about, **drawn)


def _drawn(facts: ReportFacts, n: ReportNumbers, words: Catalogue) -> dict[str, Any]:
    known = sum(slot.photographed for slot in n.pace)
    days = groupby(n.pace, lambda slot: slot.start.date())
    return {
        "stages": [_stage_line(stage, n, words) for stage in Stage],
        "groups": [_group(number, group, words) for number, group in enumerate(n.groups)],
        "days": [_day(day, list(slots), words) for day, slots in days],
        "firsts_missing": max(n.photographed - known, 0),
        "waited_chart": _waited_chart(n, words),
        "wait_words": _wait_words(n, words),
        "each_chart": _each_chart(n.frames_each),
        "pictures": _pictures(n.pictures, words),
        "withheld": sorted(
            (s for s in facts.people if s.counts and not s.publication.allowed),
            key=lambda s: (group_sort_key(s.person.group), s.person.id),
        ),
        "listed": _listed(facts, words),
    }


def _stage_line(stage: Stage, n: ReportNumbers, words: Catalogue) -> _StageLine:
    people = n.stages[stage]
    description = words.text("report-of", part=people, whole=n.people)
    drawn = bar_chart(f"s-{stage.name.lower()}", description, people, 0, n.people)
    return _StageLine(_stage_word(stage.value, words), people, drawn)


def _stage_word(word: str, words: Catalogue) -> str:
    return words.text(f"stage-{word.replace(' ', '-')}")


def _group(number: int, group: GroupLine, words: Catalogue) -> _DrawnGroup:
    came = group.came - group.photographed
    description = words.text(
        "report-group-bar",
        photographed=group.photographed,
        people=group.people,
        came=came,
        missing=group.people - group.came,
    )
    return _DrawnGroup(group, bar_chart(f"g{number}", description, group.photographed, came, group.people))


def _day(day: date, slots: Sequence[Slot], words: Catalogue) -> _Day:
    most = max(slots, key=lambda slot: slot.arrived)
    description = words.text(
        "report-pace-told",
        arrived=sum(slot.arrived for slot in slots),
        shot=sum(slot.photographed for slot in slots),
        start=words.clock(slots[0].start),
        end=words.clock(slots[-1].start + SLOT),
        busiest=words.clock(most.start),
        most=most.arrived,
    )
    rows = [
        ChartRow(words.text("report-arrived"), [slot.arrived for slot in slots]),
        ChartRow(words.text("report-first-frame"), [slot.photographed for slot in slots], hatched=True),
    ]
    labels = [words.clock(slot.start) for slot in slots]
    title = words.text("report-pace-chart", day=words.day(day))
    return _Day(day, slots, column_chart(f"pace-{day}", title, description, labels, rows))


def _waited_chart(n: ReportNumbers, words: Catalogue) -> Markup:
    if not n.waited.known:
        return Markup("")
    labels = [f"{low}–{high}" if high else f"{low}+" for low, high, _ in n.waited.bins]
    people = [people for _, _, people in n.waited.bins]
    description = "; ".join(
        f"{word}: {count}" for word, count in zip(_wait_words(n, words), people, strict=True)
    )
    row = ChartRow(words.text("report-people-column"), people)
    return column_chart("waited", words.text("report-waited-chart"), f"{description}.", labels, [row])


def _wait_words(n: ReportNumbers, words: Catalogue) -> list[str]:
    return [
        words.text("report-minutes-between", low=low, high=high)
        if high
        else words.text("report-minutes-more", low=low)
        for low, high, _ in n.waited.bins
    ]


def _each_chart(frames_each: Sequence[tuple[int, int]]) -> Markup:
    if not frames_each:
        return Markup("")
    people = dict(frames_each)
    most = max(people)
    last = min(most, _MOST_COLUMNS)
    values = [people.get(number, 0) for number in range(1, last + 1)]
    values[-1] += sum(count for number, count in people.items() if number > last)
    labels = [str(number) for number in range(1, last + 1)]
    labels[-1] += "+" if most > last else ""
    common = max(people, key=lambda number: people[number])
    description = (
        f"From {min(people)} to {most} frames; {common} are the most common, "
        f"of {plural(people[common], 'person', 'people')}."
    )
    return column_chart(
        "each", "People by how many frames are theirs", description, labels, [ChartRow("people", values)]
    )


def _pictures(pictures: Mapping[Stage, int], words: Catalogue) -> list[tuple[str, int]]:
    messages = {
        Stage.PICKED: "report-not-sent",
        Stage.AT_RETOUCH: "report-out",
        Stage.RETOUCHED: "report-back",
        Stage.DELIVERED: "report-handed-over",
    }
    return [(words.text(message), pictures.get(stage, 0)) for stage, message in messages.items()]


def _listed(facts: ReportFacts, words: Catalogue) -> list[tuple[str, list[tuple[str, str]]]]:
    return [
        (group, [(s.person.name, _stage_word(stage_key(s, facts.over), words)) for s in people])
        for group, people in people_by_group(facts.people).items()
    ]
