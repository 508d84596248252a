"""The command `onsite plan`: who comes when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from onsite.cli.common_options import open_chosen_shoot
from onsite.cli.output import print_answer, print_table, print_text
from onsite.core.text import format_iso_date, listed, plural

if TYPE_CHECKING:
    from collections.abc import Sequence

    from onsite.status.day_plan import DayPlan, PlannedSlot
    from onsite.status.person_status import PersonStatus
    from onsite.store.settings import Settings

_BAR = 20
"""Cells of the bar of the slot with the most people."""


def plan() -> None:
    """Show the day's plan: who comes when, by the slots in the client's list."""
    from onsite.status.day_plan import plan_day
    from onsite.status.read_status import read_person_statuses

    shoot = open_chosen_shoot()
    made = plan_day(read_person_statuses(shoot), shoot.settings.ends)
    print_answer(_data(made, shoot.settings), lambda: _print(made, shoot.settings))


def _data(plan: DayPlan, settings: Settings) -> dict[str, Any]:
    return {
        "name": settings.name,
        "date": settings.date or None,
        "planned_end": f"{plan.end.at:%H:%M}" if plan.end.at else None,
        "planned_end_is_last_slot": plan.end.by_slots,
        "slots": [
            {
                "day": slot.day,
                "start": f"{slot.start:%H:%M}",
                "people": [s.person.key for s in slot.people],
                "groups": [{"group": group, "people": count} for group, count in slot.groups.items()],
                "seconds_each": round(slot.each.total_seconds()) if slot.each else None,
            }
            for slot in plan.slots
        ],
        "without_slot": [s.person.key for s in plan.without_slot],
        "slot_not_a_time": [s.person.key for s in plan.unread],
    }


def _print(plan: DayPlan, settings: Settings) -> None:
    from onsite.core.times import format_duration

    planned = sum(len(slot.people) for slot in plan.slots)
    everybody = planned + len(plan.without_slot) + len(plan.unread)
    print_text(", ".join(filter(None, (settings.name, format_iso_date(settings.date)))), "bold")
    print_text(f"{plural(everybody, 'person', 'people')} on the list, {planned:,} with a time.")
    if plan.slots:
        most = max(len(slot.people) for slot in plan.slots)
        print_table(("time", "people", "", "time each", "groups"), [_row(slot, most) for slot in plan.slots])
    if plan.end.at is not None and not plan.end.by_slots:
        print_text(f"The planned end is {plan.end.at:%H:%M}.")
    if (tight := plan.fullest) is not None and tight.each is not None:
        print_text(
            f"Least time: {_when(tight)}, {format_duration(tight.each.total_seconds())} for each person."
        )
    _print_people("Without a time", plan.without_slot)
    _print_people("Their time is not understood", plan.unread)
    if not plan.slots:
        print_text("No times yet: put a column with times into the list, such as 10:30, and load it again.")


def _row(slot: PlannedSlot, most: int) -> tuple[str, ...]:
    from onsite.core.times import format_duration

    groups = ", ".join(f"{group or 'no group'} {count}" for group, count in slot.groups.items())
    each = format_duration(slot.each.total_seconds()) if slot.each else ""
    bar = "█" * max(1, round(_BAR * len(slot.people) / most))
    return (_when(slot), str(len(slot.people)), bar, each, groups)


def _when(slot: PlannedSlot) -> str:
    return f"{slot.day} {slot.start:%H:%M}".strip()


def _print_people(what: str, people: Sequence[PersonStatus]) -> None:
    if people:
        named = [f"{s.person.name} ({s.slot})" if s.slot else s.person.name for s in people]
        print_text(f"{what}: {len(people):,}: {listed(named)}")
