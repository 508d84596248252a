"""A newer list against the people already known."""

import random
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.known_people import KnownPerson
from onsite.roster.merge_lists import plan_merge
from onsite.roster.merge_plan import MergePlan
from onsite.roster.roster_entry import FIELDS, RosterEntry


def entry(name: str, group: str = "", key: str = "", email: str = "", row: int = 0) -> RosterEntry:
    given_name, _, family = name.partition(" ")
    return RosterEntry(key, name, given_name, family, group, email=email, row=row)


def known(*entries: RosterEntry) -> list[KnownPerson]:
    return [KnownPerson(number, one) for number, one in enumerate(entries, start=1)]


def after(people: Sequence[KnownPerson], plan: MergePlan) -> list[KnownPerson]:
    """The people once a plan was carried out."""
    changes = {change.id: change.entry for change in plan.changed + plan.restored}
    back = {change.id for change in plan.restored}
    kept = [
        replace(
            one,
            entry=changes.get(one.id, one.entry),
            withdrawn=(one.withdrawn and one.id not in back) or one.id in plan.withdrawn,
        )
        for one in people
    ]
    first = max((one.id for one in people), default=0) + 1
    return kept + [KnownPerson(number, one) for number, one in enumerate(plan.added, start=first)]


def test_added_changed_withdrawn_and_unchanged_by_key() -> None:
    people = known(
        entry("Ann Lee", "Altos", "k1"), entry("Bo Li", "Basses", "k2"), entry("Cy Oz", "Altos", "k3")
    )
    newer = [
        entry("Ann Lee", "Altos", "k1"),
        entry("Bo Li", "Tenors", "k2"),
        entry("Di Fry", "Altos", "k4"),
    ]
    plan = plan_merge(people, newer)
    assert [one.name for one in plan.added] == ["Di Fry"]
    assert [(change.id, change.fields) for change in plan.changed] == [(2, (("group", "Basses", "Tenors"),))]
    assert (plan.withdrawn, plan.unchanged, plan.questions) == ((3,), (1,), ())


def test_a_corrected_spelling_under_the_same_key_is_a_change() -> None:
    for old, new in [
        ("Jon Smyth", "John Smith"),
        ("Zoe Berg", "Zoë Berg"),
        ("Ann Lee", "Ann Berg"),
        ("Иван Петров", "Ivan Petrov"),
    ]:
        plan = plan_merge(known(entry(old, "A", "k1")), [entry(new, "A", "k1")])
        assert plan.changed[0].fields[0] == ("name", old, new)


def test_somebody_else_under_an_old_key_is_a_question() -> None:
    plan = plan_merge(known(entry("Ann Lee", "A", "k1")), [entry("Bo Quist", "A", "k1", row=2)])
    assert plan.questions[0].row == 2
    assert "key k1 was Ann Lee (A) and is now Bo Quist (A)" in plan.questions[0].text
    assert (plan.untouched, plan.changed, plan.withdrawn, plan.added) == ((1,), (), (), ())


def test_a_list_with_new_running_numbers_changes_nobody() -> None:
    people = known(entry("Ann Lee", "A", "1"), entry("Ann Berg", "A", "2"), entry("Cy Oz", "A", "3"))
    newer = [
        entry("Abe Moss", "A", "1", row=2),
        entry("Ann Lee", "A", "2", row=3),
        entry("Ann Berg", "A", "3", row=4),
        entry("Cy Oz", "A", "4", row=5),
    ]
    plan = plan_merge(people, newer)
    assert (plan.changed, plan.withdrawn, plan.added) == ((), (), ())
    assert plan.untouched == (1, 2, 3)


def test_without_keys_by_name_and_group_accents_aside() -> None:
    people = known(entry("Zoe Berg", "Altos"), entry("Bo Li", "Basses"))
    plan = plan_merge(people, [entry("Zoë Berg", "altos"), entry("Bo Li", "Basses")])
    assert plan.changed[0].fields[0] == ("name", "Zoe Berg", "Zoë Berg")
    assert plan.unchanged == (2,)


def test_the_exact_spelling_comes_before_the_similar_one() -> None:
    people = known(entry("Zoe Berg", "A"), entry("Zoë Berg", "A"))
    plan = plan_merge(people, [entry("Zoë Berg", "A"), entry("Zoe Berg", "A")])
    assert (plan.unchanged, plan.changed, plan.questions) == ((1, 2), (), ())


def test_a_key_is_added_to_somebody_who_had_none() -> None:
    plan = plan_merge(known(entry("Ann Lee", "A")), [entry("Ann Lee", "A", "k1")])
    assert plan.changed[0].fields == (("key", "", "k1"),)


def test_a_list_without_keys_keeps_the_old_ones() -> None:
    plan = plan_merge(known(entry("Ann Lee", "A", "k1")), [entry("Ann Lee", "A")], {"name", "group"})
    assert plan.unchanged == (1,)


def test_another_key_for_the_same_name_and_group_is_a_question() -> None:
    plan = plan_merge(known(entry("Ann Lee", "A", "k1")), [entry("Ann Lee", "A", "k9", row=2)])
    assert "had key k1 and now k9" in plan.questions[0].text
    assert plan.untouched == (1,)


def test_another_key_beside_one_that_stays_is_another_person() -> None:
    newer = [entry("Ann Lee", "A", "k1"), entry("Ann Lee", "A", "k9")]
    plan = plan_merge(known(entry("Ann Lee", "A", "k1")), newer)
    assert plan.unchanged == (1,)
    assert [one.key for one in plan.added] == ["k9"]


def test_without_keys_a_new_group_is_a_question_unless_an_address_agrees() -> None:
    asked = plan_merge(known(entry("Ann Lee", "A")), [entry("Ann Lee", "B", row=2)])
    assert "a new group, or somebody else of the same name?" in asked.questions[0].text
    agreed = plan_merge(known(entry("Ann Lee", "A", email="a@x")), [entry("Ann Lee", "B", email="a@x")])
    assert agreed.changed[0].fields == (("group", "A", "B"),)
    learned = plan_merge(known(entry("Ann Lee")), [entry("Ann Lee", "B")])
    assert learned.changed[0].fields == (("group", "", "B"),)


def test_two_of_one_name_are_told_apart_by_what_else_is_known() -> None:
    people = known(entry("Ann Lee", "A", email="a@x"), entry("Ann Lee", "A", email="b@x"))
    swapped = plan_merge(people, [entry("Ann Lee", "A", email="b@x"), entry("Ann Lee", "A", email="a@x")])
    assert swapped.unchanged == (1, 2)
    one_left = plan_merge(people, [entry("Ann Lee", "A", email="b@x")])
    assert (one_left.unchanged, one_left.withdrawn) == ((2,), (1,))


def test_two_who_are_alike_in_everything_are_paired_in_order_when_both_are_there() -> None:
    people = known(entry("Ann Lee", "A"), entry("Ann Lee", "A"))
    assert plan_merge(people, [entry("Ann Lee", "A"), entry("Ann Lee", "A")]).unchanged == (1, 2)
    one_left = plan_merge(people, [entry("Ann Lee", "A", row=2)])
    assert "2 known, 1 in the list, and nothing tells who is who" in one_left.questions[0].text
    assert (one_left.untouched, one_left.withdrawn) == ((1, 2), ())


def test_what_cannot_be_told_is_a_question() -> None:
    people = known(entry("Ann Lee", "A"), entry("Ann Lee", "A"))
    newer = [entry("Ann Lee", "A", email="a@x", row=2), entry("Ann Lee", "A", email="b@x", row=3)]
    plan = plan_merge(people, newer)
    assert len(plan.questions) == 1
    assert plan.changed == ()


def test_a_column_that_is_missing_leaves_the_old_values() -> None:
    plan = plan_merge(
        known(entry("Ann Lee", "A", "k1", "a@x")), [entry("Ann Lee", key="k1")], {"key", "name"}
    )
    assert plan.unchanged == (1,)


def test_walk_ins_are_never_withdrawn_and_are_met_by_name() -> None:
    people = [
        KnownPerson(1, entry("Ann Lee", "A"), walk_in=True),
        KnownPerson(2, entry("Bo Li", "B"), walk_in=True),
    ]
    plan = plan_merge(people, [entry("Bo Li", "B", "k2")])
    assert (plan.untouched, plan.withdrawn) == ((1,), ())
    assert plan.changed[0].fields == (("key", "", "k2"),)


def test_somebody_withdrawn_comes_back() -> None:
    people = [KnownPerson(1, entry("Ann Lee", "A", "k1"), withdrawn=True)]
    plan = plan_merge(people, [entry("Ann Lee", "B", "k1")])
    assert (plan.restored[0].id, plan.restored[0].fields) == (1, (("group", "A", "B"),))


def test_an_answer_settles_a_question() -> None:
    people, newer = known(entry("Ann Lee", "A", "k1")), [entry("Ann Lee", "A", "k9", row=2)]
    same = plan_merge(people, newer, answers={2: 1})
    assert same.changed[0].fields == (("key", "k1", "k9"),)
    somebody_new = plan_merge(people, newer, answers={2: None})
    assert (len(somebody_new.added), somebody_new.withdrawn) == (1, (1,))


NAMES = st.sampled_from(["Ann Lee", "Ánn Lee", "Ann Berg", "Bo Li", "Cy"])
ENTRIES = st.builds(
    entry,
    NAMES,
    st.sampled_from(["", "A", "a", "B"]),
    st.sampled_from(["", "", "k1", "k2", "k3", "k4"]),
    st.sampled_from(["", "a@x", "b@x"]),
)
LISTS = st.lists(ENTRIES, max_size=7).map(
    lambda entries: [replace(one, row=row) for row, one in enumerate(entries, start=2)]
)
PEOPLE = st.lists(st.tuples(ENTRIES, st.booleans(), st.booleans()), max_size=7).map(
    lambda people: [KnownPerson(number, *one) for number, one in enumerate(people, start=1)]
)
COLUMNS = st.sampled_from([FIELDS, ("name", "group"), ("key", "given", "family"), ("name", "email", "key")])


@pytest.mark.long
@given(PEOPLE, LISTS, COLUMNS)
def test_everybody_ends_in_exactly_one_place(
    people: list[KnownPerson], newer: list[RosterEntry], fields: Collection[str]
) -> None:
    plan = plan_merge(people, newer, fields)
    ids = [change.id for change in plan.changed + plan.restored]
    ids += [*plan.unchanged, *plan.withdrawn, *plan.untouched]
    assert Counter(ids) == Counter(one.id for one in people)
    paired = len(plan.changed) + len(plan.restored) + len(plan.unchanged)
    asked = [one.row for question in plan.questions for one in question.entries]
    rows = [one.row for one in plan.added] + asked
    assert len(rows) == len(set(rows))
    assert paired + len(rows) == len(newer)


@pytest.mark.long
@given(PEOPLE, LISTS, COLUMNS)
def test_the_same_list_twice_changes_nothing(
    people: list[KnownPerson], newer: list[RosterEntry], fields: Collection[str]
) -> None:
    once = plan_merge(people, newer, fields)
    again = plan_merge(after(people, once), newer, fields)
    assert (again.added, again.changed, again.restored, again.withdrawn) == ((), (), (), ())


@pytest.mark.long
@given(PEOPLE, LISTS, COLUMNS)
def test_a_walk_in_or_somebody_in_a_question_is_never_withdrawn(
    people: list[KnownPerson], newer: list[RosterEntry], fields: Collection[str]
) -> None:
    plan = plan_merge(people, newer, fields)
    safe = {one.id for one in people if one.walk_in} | {i for asked in plan.questions for i in asked.ids}
    assert not safe & set(plan.withdrawn)


@pytest.mark.long
@given(LISTS, LISTS, st.randoms())
def test_the_order_of_rows_does_not_matter_with_keys(
    older: list[RosterEntry], newer: list[RosterEntry], rng: random.Random
) -> None:
    older, newer = (list({one.key: one for one in entries if one.key}.values()) for entries in (older, newer))
    shuffled = newer.copy()
    rng.shuffle(shuffled)
    plan, other = plan_merge(known(*older), newer), plan_merge(known(*older), shuffled)
    assert sorted(plan.added, key=lambda one: one.key) == sorted(other.added, key=lambda one: one.key)
    assert (plan.changed, plan.withdrawn, plan.unchanged) == (other.changed, other.withdrawn, other.unchanged)
    assert Counter(i for asked in plan.questions for i in asked.ids) == Counter(
        i for asked in other.questions for i in asked.ids
    )


@pytest.mark.long
@given(PEOPLE, LISTS)
def test_no_keyed_person_becomes_another_keyed_person(
    people: list[KnownPerson], newer: list[RosterEntry]
) -> None:
    before = {one.id: one.entry.key for one in people}
    for change in plan_merge(people, newer).changed:
        assert before[change.id] in ("", change.entry.key)
