"""When a suggestion is strong enough for Enter alone."""

from __future__ import annotations

from onsite.matching.evidence import Suggestion
from onsite.tui.reconcile.suggestion_lines import is_strong


def suggested(*certainties: float) -> list[Suggestion]:
    return [Suggestion(person, 10, ("a reason",), sure) for person, sure in enumerate(certainties, 1)]


def test_the_first_is_strong_where_it_is_likelier_than_everybody_else_together() -> None:
    assert is_strong(suggested(0.7, 0.2))
    assert not is_strong(suggested(0.45, 0.05))  # nobody of these as likely
    assert not is_strong(suggested(0.4, 0.4))
    assert not is_strong([])
