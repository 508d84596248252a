"""Closed-set decoding: which of the codes of this shoot a grid of soft module values shows, if any.

A shoot has a few thousand codes at most, and a symbol has far more modules than are needed to tell them
apart. A slate too damaged for its own error correction is therefore compared with every slate of the shoot,
module by module. The *agreement* of a code with a grid is the sum of the grid's values over the modules that
differ between codes, each multiplied by the code's sign there. The best code is accepted when it passes two
tests.

**Not by chance.** Codes are drawn at random (`onsite.core.codes.new_code`), independently of the picture, so
for a grid that shows none of them the signs of a code are like fair coin tosses. For fair coins, values y and
any tilt t > 0, Chernoff's bound is

    P(agreement >= s) <= exp(C(t) - t s),    C(t) = sum of ln cosh(t y)

(H. Chernoff 1952, Annals of Mathematical Statistics 23; ln cosh is the logarithm of the moment generating
function of one coin). With N codes and GRIDS grids compared for a frame, a code that is not shown is accepted
with probability at most CHANCE when `agreement >= (ln(N GRIDS / CHANCE) + C(t)) / t`, for the t with the
lowest threshold. As cosh(y) <= exp(y²/2), this threshold is never above Hoeffding's bound, a score of
sqrt(2 ln(N GRIDS / CHANCE)), and it is much lower where most of the visible modules agree.

**No close runner-up.** If a module with value y shows its true sign with odds exp(2 t y), the likelihood
ratio of a code against fair coins is exp(t agreement - C(t)), so the t that maximises it is the maximum
likelihood estimate, and the likelihood ratio of two codes is the exponential of t times the difference of
their agreements. The best code needs a likelihood ratio of 1 / CHANCE against the next best. This guards
against two slates mixed in one grid, and against codes that happen to share most of what is visible. For
equal values it amounts to a lead in score of 14 over the score itself: about 2.

Neither test needs the noise level of a grid: both are invariant to the scale of the values. A reader gains
most by making values proportional to the log odds that a module is dark.

The coin model ignores that the signs of a code are not independent: all 137 modules follow from five
characters, 22 bits, through a Reed-Solomon code. Checked against all 2.4 million codes that a shoot can have
(`tests/bench/bench_known.py`), the measured probability stays at a fifth of the bound or less for noise, for
textures and for slates that are not in the set, clean ones included: two codes of a shoot differ in at least
36 modules, so a clean slate gives its nearest neighbour a score of 5.6.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onsite.core.codes import PROJECT_MARK, SHOOT_LENGTH
from onsite.slates.qr_symbol import PAIR_BITS, TEXT_LENGTH, affine_parts, qr_modules_of

GRIDS = 3
"""Most grids that may be compared for one frame; the bound relies on it."""

CHANCE = 1e-6
"""Most probability, for one frame, of accepting a code unrelated to what the frame shows; and highest
likelihood ratio of the next best code against it."""

_TILTS = np.geomspace(0.1, 2.3, 24, dtype=np.float32)
"""Tilts tried, for values with a mean square of 1. Any tilt gives a valid bound; steps of 15 % lose less than
0.3 % of it. At 2.3 a module of typical size is right in 99 of 100, the most confidence ever assumed."""


@dataclass(frozen=True, slots=True)
class ClosedSetMatch:
    """The code that agrees best with a grid, and whether it is accepted."""

    code: str | None
    """None where no codes are known."""
    score: float
    """Agreement over the root of the sum of squared values: mean 0, variance 1 for a code unrelated to the
    grid."""
    runner_up: float
    """Score of the next best code, 0 where there is none."""
    needed: float
    """Least score at which a match is not by chance."""
    accepted: bool

    @property
    def margin(self) -> float:
        """Lead of the code over the next best, in standard deviations."""
        return self.score - self.runner_up


_NOTHING = ClosedSetMatch(None, 0.0, 0.0, math.inf, False)


@dataclass(frozen=True, eq=False)
class KnownSlates:
    """The closed set: the slates that a shoot can show."""

    codes: tuple[str, ...]
    """Sorted."""
    template: NDArray[np.int8]
    """(21, 21): +1 where all slates of the shoot are dark, -1 where all are light, 0 where free."""
    modules: NDArray[np.float32]
    """(codes, 137): +1 dark, -1 light, over the free modules: those of the pairs of characters after the
    shoot's mark, and of error correction."""

    @property
    def free(self) -> NDArray[np.bool_]:
        """(21, 21): which modules differ between slates."""
        return np.asarray(self.template == 0)

    def match(self, free: NDArray[np.floating]) -> ClosedSetMatch:
        """Return the best match of the values of a grid's free modules, (137,).

        A value is positive for dark, negative for light, the further from 0 the surer. At most GRIDS grids of
        a frame may be compared: the bound holds for so many together.
        """
        seen = np.asarray(free, np.float32)
        size = float(np.sqrt(seen @ seen))
        if not self.codes or size == 0:
            return _NOTHING
        agreements = self.modules @ seen
        best = int(agreements.argmax())
        agreement = float(agreements[best])
        next_best = float(np.partition(agreements, -2)[-2]) if len(agreements) > 1 else 0.0
        needed = least_agreement(seen, math.log(len(self.codes) * GRIDS / CHANCE))
        accepted = agreement >= needed and _advantage(seen, agreement, next_best) >= math.log(1 / CHANCE)
        return ClosedSetMatch(self.codes[best], agreement / size, next_best / size, needed / size, accepted)


def known_slates(shoot_mark: str, codes: Collection[str]) -> KnownSlates:
    """Make the closed set of a shoot. Raises ValueError for a code that is not of this shoot."""
    head = PROJECT_MARK + shoot_mark
    if len(shoot_mark) != SHOOT_LENGTH or not all(code.startswith(head) for code in codes):
        raise ValueError(f"not all codes are of the shoot {shoot_mark!r}")
    in_order = tuple(sorted(set(codes)))
    _, changes = affine_parts()
    free: NDArray[np.bool_] = np.any(changes[len(head) // 2 * PAIR_BITS :], axis=0)
    common = qr_modules_of([head.ljust(TEXT_LENGTH, "0")])[0]
    template = np.where(free, 0, np.where(common, 1, -1)).astype(np.int8)
    modules = np.where(qr_modules_of(in_order)[:, free], 1, -1).astype(np.float32, order="F")
    return KnownSlates(in_order, template, modules)


def least_agreement(seen: NDArray[np.float32], nats: float) -> float:
    """Return the agreement that fair coins reach with probability at most exp(-nats), for values (n,)."""
    tilts, costs = _tilted(seen)
    return float(((nats + costs) / tilts).min())


def _advantage(seen: NDArray[np.float32], agreement: float, next_best: float) -> float:
    """Return the log likelihood ratio of the best code against the next."""
    tilts, costs = _tilted(seen)
    return float(tilts[(tilts * agreement - costs).argmax()]) * (agreement - next_best)


def _tilted(seen: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the tilts t scaled to the values of a grid, and C(t) for each."""
    known = seen[seen != 0].astype(float)
    tilts = _TILTS / np.sqrt((known * known).mean())
    tilted = np.abs(tilts[:, None] * known)
    costs = (tilted + np.log1p(np.exp(-2 * tilted)) - math.log(2)).sum(axis=1)
    return tilts, costs
