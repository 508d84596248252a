"""How sure a name is, as a probability."""

from __future__ import annotations


def certainty_of(odds: float) -> float:
    """The probability of a name, from the posterior odds of another person at its weakest step."""
    return 1.0 / (1.0 + odds)
