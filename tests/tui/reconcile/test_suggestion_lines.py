"""When a suggestion is strong enough for Enter alone."""

from __future__ import annotations

from onsite.matching.evidence import Suggestion
from onsite.tui.reconcile.suggestion_lines import is_strong


def suggested(*certainties: float) -> list[Suggestion]:
    return [Suggestion(person, ("a reason",), sure) for person, sure in enumerate(certainties, 1)]


def test_enter_accepts_only_what_is_far_likelier_than_everything_else() -> None:
    assert is_strong(suggested(0.95, 0.02))
    assert not is_strong(suggested(0.85, 0.1))
    assert not is_strong(suggested(0.4, 0.4))
    assert not is_strong([])
