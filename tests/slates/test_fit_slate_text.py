from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.slates.fit_slate_text import compose_ticket, fit_text
from onsite.slates.printable_slate_names import letter_text
from onsite.slates.slate_fonts import bundled_typeface
from onsite.slates.slate_layout import Box, Ticket, ticket_layout
from tests.slates.sample_cards import NAMES

FACE = bundled_typeface(bold=True)
BOX = Box(0, 0, 50, 20)


def fitted(text: str) -> tuple[tuple[str, ...], float]:
    result = fit_text(text, FACE, BOX, largest=8.5, floor=6, least=2.5)
    return result.lines, result.size


def test_a_short_name_stands_on_one_line_at_the_largest_size() -> None:
    assert fitted("Bo Li") == (("Bo Li",), 8.5)


def test_a_longer_name_shrinks_on_its_line_before_it_goes_on_two() -> None:
    lines, size = fitted("Ida Winters")
    assert lines == ("Ida Winters",)
    assert 6 <= size < 8.5


def test_a_long_name_goes_on_two_lines_where_that_makes_it_larger() -> None:
    lines, size = fitted("Anneliese Vandenberghe")
    assert lines == ("Anneliese", "Vandenberghe")
    assert 2.5 <= size < 8.5
    assert fitted("Anneliese Vandenberghe-Winter")[0] == ("Anneliese", "Vandenberghe-Winter")


def test_a_name_is_also_broken_after_a_hyphen() -> None:
    assert fitted("Vandenberghe-Winterfeldt")[0] == ("Vandenberghe-", "Winterfeldt")


def test_a_name_too_long_for_two_lines_ends_with_an_ellipsis() -> None:
    lines, size = fitted("Maria " * 30)
    assert size == 2.5
    assert len(lines) == 2
    assert lines[0].endswith("Maria")
    assert lines[1].endswith("…")


def test_a_mark_is_never_cut_from_its_letter() -> None:
    lines, _ = fitted("q\u0308" * 60)
    assert lines[0].endswith("q\u0308…")


@pytest.mark.long
@given(st.text(max_size=300), st.floats(20, 80), st.floats(8, 40))
def test_no_text_leaves_its_box(text: str, width: float, height: float) -> None:
    lettered = letter_text(text)
    box = Box(0, 0, width, height)
    result = fit_text(
        lettered.text, lettered.face, box, largest=height / 2.4, floor=height / 3.2, least=height / 10
    )
    assert len(result.lines) * result.size * lettered.face.line_height <= height * 1.001
    assert all(result.size * lettered.face.width(line) <= width * 1.001 for line in result.lines)


@settings(max_examples=30)
@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_every_line_of_a_card_stays_on_its_face(name: str, group: str) -> None:
    for line in compose_ticket(Ticket("NX34ACDEFHJK", name, group, shoot=name), ticket_layout(150, 100)):
        assert line.x >= 0
        assert line.x + line.size * line.face.width(line.text) <= 150
        assert line.size <= line.baseline <= 100


def test_the_name_is_the_largest_type_and_the_code_stands_in_groups_of_four() -> None:
    lines = compose_ticket(
        Ticket("NX34ACDEFHJK", "Ida Berg", "Alto 2", shoot="A festival"), ticket_layout(150, 100)
    )
    assert [line.text for line in lines] == ["Ida Berg", "Alto 2", "A festival", "NX34 ACDE FHJK"]
    assert max(lines, key=lambda line: line.size).text == "Ida Berg"


def test_a_deck_card_shows_its_number_and_its_name() -> None:
    lines = compose_ticket(Ticket("NX34ACDEFHJK", "Card 17", number="17"), ticket_layout(150, 100))
    assert [line.text for line in lines] == ["17", "Card 17", "NX34 ACDE FHJK"]
    assert lines[0].size > 1.5 * lines[1].size


def test_a_right_to_left_name_ends_at_the_right_of_its_box() -> None:
    places = ticket_layout(150, 100)
    line = compose_ticket(Ticket("NX34ACDEFHJK", "שרה"), places)[0]
    assert line.x + line.size * line.face.width(line.text) == pytest.approx(places.name.right)
