"""Several columns about consent, and headings that mean the opposite: the stricter counts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.consent_answers import (
    MAY,
    MUST_NOT,
    ConsentColumn,
    ConsentSense,
    combine_consents,
    consent_answer,
)
from onsite.roster.parse_consent import Consent, parse_consent

YES, NO, UNCLEAR, UNKNOWN = Consent.YES, Consent.NO, Consent.UNCLEAR, Consent.UNKNOWN


@pytest.mark.parametrize(
    ("text", "says"),
    [("yes", NO), ("x", NO), ("X", NO), ("1", NO), ("✗", NO), ("✓", NO), ("do not publish", NO),
     ("ja", NO), ("no", YES), ("FALSE", YES), ("Nein.", YES), ("no?", UNCLEAR),
     ("only the yearbook", UNCLEAR), ("", UNKNOWN)],
)  # fmt: skip
def test_what_an_answer_under_do_not_publish_says(text: str, says: Consent) -> None:
    assert consent_answer(ConsentSense.FORBIDS, text) is says


CONSENT = ConsentColumn(1, "Consent", ConsentSense.AGREES, expected=True)
PUBLISH = ConsentColumn(2, "Publish", ConsentSense.AGREES, expected=True)
FORBID = ConsentColumn(3, "Do not publish", ConsentSense.FORBIDS)


@pytest.mark.parametrize(
    ("columns", "texts", "kept", "disagree"),
    [
        ([CONSENT], ["yes, not online"], "yes, not online", False),
        ([CONSENT, PUBLISH], ["yes", "no"], "no", True),
        ([CONSENT, PUBLISH], ["no", "yes"], "no", True),
        ([CONSENT, PUBLISH], ["yes", "ja"], "yes", False),
        ([CONSENT, PUBLISH], ["yes", ""], "Consent: yes; Publish: nothing", True),
        ([CONSENT, PUBLISH], ["", ""], "", False),
        ([CONSENT, FORBID], ["yes", "yes"], MUST_NOT, True),
        ([CONSENT, FORBID], ["yes", "x"], MUST_NOT, True),
        ([CONSENT, FORBID], ["yes", ""], "yes", False),
        ([CONSENT, FORBID], ["yes", "ask"], "Consent: yes; Do not publish: ask", True),
        ([FORBID], ["no"], MAY, False),
        ([FORBID], [""], "", False),
    ],
)
def test_the_stricter_counts(
    columns: list[ConsentColumn], texts: list[str], kept: str, disagree: bool
) -> None:
    said = combine_consents(columns, texts)
    assert (said.text, said.disagree) == (kept, disagree)


_ANSWERS = st.sampled_from(
    ["", "yes", "no", "x", "ja", "nein", "yes*", "see mail", "do not publish", "0", "1"]
)


@given(st.lists(st.tuples(st.sampled_from(ConsentSense), st.booleans(), _ANSWERS), min_size=1, max_size=4))
def test_what_is_kept_reads_as_the_strictest_answer(said: list[tuple[ConsentSense, bool, str]]) -> None:
    columns = [
        ConsentColumn(n, f"Column {n}", sense, expected) for n, (sense, expected, _) in enumerate(said)
    ]
    kept = parse_consent(combine_consents(columns, [text for _, _, text in said]).text)
    answers = {consent_answer(sense, text) for sense, _, text in said}
    if NO in answers:
        assert kept is NO
    elif UNCLEAR in answers:
        assert kept is UNCLEAR
    elif YES in answers:
        assert kept is YES or any(sense is ConsentSense.AGREES and not text for sense, _, text in said)
    else:
        assert kept is UNKNOWN
