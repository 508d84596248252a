"""What a message shows of hostile text."""

from onsite.core.text import escaped
from onsite.roster.roster_entry import RosterEntry


def test_a_message_stays_on_one_line() -> None:
    assert escaped("Ann\nLee\x1b[31m") == "Ann\\nLee\\x1b[31m"
    assert escaped("Ann\u202eeeL") == "Ann\\u202eeeL"
    assert escaped("[bold]Ann") == "[bold]Ann"
    assert escaped("أحمد") == "أحمد"


def test_a_long_text_is_cut() -> None:
    assert escaped("a" * 100, 10) == "a" * 10 + "…"


def test_an_entry_is_empty_where_nothing_is_said() -> None:
    entry = RosterEntry(name="Ann")
    assert (entry.key, entry.group, entry.extra, entry.row) == ("", "", (), 0)
