"""Colours as people see them: CIE L*a*b*, and how far two colours are apart."""

from __future__ import annotations

from typing import NamedTuple


class Lab(NamedTuple):
    """A colour in CIE L*a*b* for the white of sRGB, D65 (CIE 15:2004): `l` is 0 (black) to 100 (white)."""

    l: float  # noqa: E741  the letter by which the standard calls it
    a: float
    b: float


def lab_of(red: float, green: float, blue: float) -> Lab:
    """The colour of linear-light sRGB components, each 0 to 1."""
    from coloraide import Color

    lightness, a, b = Color("srgb-linear", (red, green, blue)).convert("lab-d65").coords()
    return Lab(lightness, a, b)


def colour_difference(first: Lab, other: Lab) -> float:
    """CIEDE2000 with all weights 1 (ISO/CIE 11664-6). Below 1 hardly anybody sees a difference; from 3 to 5
    on it shows in portraits side by side (common practice, no source)."""
    from coloraide import Color

    return Color("lab-d65", first).delta_e(Color("lab-d65", other), method="2000")
