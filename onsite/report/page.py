"""The report as one HTML page: no scripts, nothing fetched, every text escaped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from markupsafe import Markup

from onsite.files.page import part, templates
from onsite.progress.absent import word_of
from onsite.progress.stage import Stage
from onsite.progress.waits import TOLD
from onsite.report.charts import Row, bar, columns
from onsite.report.numbers import SLOT, Facts, GroupLine, Numbers, Slot
from onsite.roster.groups import place_of
from onsite.slate.lettering import shown
from onsite.words import counted, day_told, money

_MOST_COLUMNS = 30
"""Of people with so many frames; more frames are told together in the last column."""


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


def page(facts: Facts, numbers: Numbers) -> str:
    """The whole page."""
    package = "onsite.report"
    zone = facts.made.tzinfo
    pages = templates(
        package,
        shown=shown,
        day=day_told,
        local_day=lambda moment: day_told(moment.astimezone(zone)),
        clock=lambda moment: f"{moment:%H:%M}",
        counted=counted,
        minutes=_minutes,
        money=money,
    )
    css = Markup(part(package, "report.css"))
    whole = pages.get_template("report.html")
    return whole.render(facts=facts, n=numbers, css=css, **_drawn(facts, numbers))


def _drawn(facts: Facts, n: Numbers) -> dict[str, Any]:
    known = sum(slot.photographed for slot in n.pace)
    return {
        "stages": [_stage_line(stage, n) for stage in Stage],
        "groups": [_group(number, group) for number, group in enumerate(n.groups)],
        "days": [_day(day, list(slots)) for day, slots in groupby(n.pace, lambda slot: slot.start.date())],
        "firsts_missing": max(n.photographed - known, 0),
        "waited_chart": _waited_chart(n),
        "wait_words": _wait_words(n),
        "each_chart": _each_chart(n.frames_each),
        "wait_told": TOLD,
        "pictures": _pictures(n.pictures),
        "withheld": sorted(
            (s for s in facts.people if s.counts and not s.publication.allowed),
            key=lambda s: (place_of(s.person.group), s.person.id),
        ),
        "listed": _listed(facts),
    }


def _stage_line(stage: Stage, n: Numbers) -> _StageLine:
    people = n.stages[stage]
    told = f"{people} of {n.people}"
    return _StageLine(stage.value, people, bar(f"s-{stage.name.lower()}", told, people, 0, n.people))


def _group(number: int, group: GroupLine) -> _DrawnGroup:
    came = group.came - group.photographed
    told = (
        f"{group.photographed} of {group.people} photographed, {came} came and have no frame, "
        f"{group.people - group.came} did not come"
    )
    return _DrawnGroup(group, bar(f"g{number}", told, group.photographed, came, group.people))


def _day(day: date, slots: Sequence[Slot]) -> _Day:
    most = max(slots, key=lambda slot: slot.arrived)
    arrived, shot = sum(slot.arrived for slot in slots), sum(slot.photographed for slot in slots)
    told = (
        f"{arrived} people arrived and {shot} were first photographed between {slots[0].start:%H:%M} "
        f"and {slots[-1].start + SLOT:%H:%M}; "
        f"most arrived from {most.start:%H:%M} on, {most.arrived} in a quarter of an hour."
    )
    rows = [
        Row("arrived", [slot.arrived for slot in slots]),
        Row("first frame", [slot.photographed for slot in slots], hatched=True),
    ]
    labels = [f"{slot.start:%H:%M}" for slot in slots]
    return _Day(day, slots, columns(f"pace-{day}", f"Pace on {day_told(day)}", told, labels, rows))


def _waited_chart(n: Numbers) -> Markup:
    if not n.waited.known:
        return Markup("")
    labels = [f"{low}–{high}" if high else f"{low}+" for low, high, _ in n.waited.bins]
    people = [people for _, _, people in n.waited.bins]
    told = "; ".join(f"{word}: {count}" for word, count in zip(_wait_words(n), people, strict=True))
    return columns(
        "waited", "How long people waited, in minutes", f"{told}.", labels, [Row("people", people)]
    )


def _wait_words(n: Numbers) -> list[str]:
    return [
        f"{low} to {high} minutes" if high else f"{low} minutes and more" for low, high, _ in n.waited.bins
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
    told = (
        f"From {min(people)} to {most} frames; {common} are the most common, "
        f"of {counted(people[common], 'person', 'people')}."
    )
    return columns("each", "People by how many frames are theirs", told, labels, [Row("people", values)])


def _pictures(pictures: Mapping[Stage, int]) -> list[tuple[str, int]]:
    words = {
        Stage.PICKED: "not sent yet",
        Stage.AT_RETOUCH: "at retouch",
        Stage.RETOUCHED: "back, not delivered",
    }
    words[Stage.DELIVERED] = "delivered"
    return [(word, pictures.get(stage, 0)) for stage, word in words.items()]


def _listed(facts: Facts) -> list[tuple[str, list[tuple[str, str]]]]:
    groups: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for s in facts.people:
        if s.counts:
            groups[s.person.group].append((s.person.name, word_of(s, facts.over)))
    in_order = sorted(groups, key=place_of)
    return [(group, groups[group]) for group in in_order]


def _minutes(minutes: float) -> str:
    return "less than a minute" if minutes < 1 else counted(round(minutes), "minute")
