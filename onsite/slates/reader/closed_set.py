"""The closed set: which of the codes of this shoot a softly sampled grid of modules shows, if any.

A shoot has a few thousand codes at most, and a symbol has far more modules than it takes to tell them apart.
A slate too damaged for its own error correction is therefore compared with every slate of the shoot, module
by module. The *agreement* of a code with a grid is the sum of the grid's values over the modules that differ
between codes, each with the sign that the code has there. The best code is taken when it passes two tests.

**Not by chance.** Codes are drawn at random (`onsite.core.codes.new_code`) and know nothing of the picture,
so against a grid that shows none of them the signs of a code are as good as tossed coins. For coins, with
values y and any tilt t > 0, Chernoff's bound is

    P(agreement >= s) <= exp(C(t) - t s),    C(t) = sum of ln cosh(t y)

(H. Chernoff 1952, Annals of Mathematical Statistics 23; ln cosh is the logarithm of the moment generating
function of one coin). With N codes, and GRIDS grids compared for a frame, a code that is not shown is taken
with a chance of at most CHANCE when `agreement >= (ln(N GRIDS / CHANCE) + C(t)) / t`, for the t that asks
least. As cosh(y) <= exp(y²/2) this never asks more than Hoeffding's bound, a score of
sqrt(2 ln(N GRIDS / CHANCE)), and it asks much less where most of what was seen agrees.

**Not one of two.** If a module with value y shows its sign truly with odds exp(2 t y), a code is likelier
than coins by exp(t agreement - C(t)), so the t that makes this largest is the likeliest one, and one code is
likelier than another by the exponential of t times the difference of their agreements. The best code has to
be 1 / CHANCE times likelier than the next. This guards against two slates mixed in one grid, and against
codes that happen to share most of what is visible. For equal values it is a lead in score of 14 over the
score itself: about 2.

Neither test needs to know how noisy a grid is: both are the same at any scale of the values. A reader gains
most by making values proportional to the logarithm of the odds that a module is dark.

What coins leave out: the signs of a code are not independent. All 137 modules follow from five characters, 22
bits, through a Reed-Solomon code. Held against all 2.4 million codes that a shoot can have
(`tests/bench/bench_known.py`), chance stays at a fifth of the bound or less for noise, for textures and for
slates that are not in the set, clean ones too: two codes of a shoot differ in 36 modules or more, so what a
clean slate says for its nearest neighbour is a score of 5.6.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from onsite.core.codes import PROJECT_MARK, SHOOT_LENGTH
from onsite.slates.qr_symbol import MODULES, PAIR_BITS, TEXT_LENGTH, affine_parts, qr_modules_of

GRIDS = 16
"""Most grids that a reader may compare for one frame: the bound on chance counts on it. Each halving lets a
slate pass with one module less in sight."""

CHANCE = 1e-6
"""Most chance, for one frame, that a code is taken which has nothing to do with what the frame shows; and of
the next best code being the one shown."""

_TILTS = np.geomspace(0.1, 2.3, 24, dtype=np.float32)
"""Tilts tried, for values with a mean square of 1. Any tilt gives a valid bound; steps of 15 % lose less than
0.3 % of it. At 2.3 a module of usual size is right in 99 of 100: none is ever taken to be surer."""


@dataclass(frozen=True, slots=True)
class ClosedSetMatch:
    """The code that fits a grid best, None where no codes are known.

    `score` is its agreement over the root of the sum of squared values: around 0, spread 1, for a code that
    has nothing to do with the grid. `runner_up` is the score of the next best code, 0 where there is none;
    `needed` the score from which a match is no chance. `grid` is the place among the grids given together.
    """

    code: str | None
    score: float
    runner_up: float
    needed: float
    accepted: bool
    grid: int = 0

    @property
    def margin(self) -> float:
        """How far the code is ahead of the next best, in standard deviations."""
        return self.score - self.runner_up


_NOTHING = ClosedSetMatch(None, 0.0, 0.0, math.inf, False)


@dataclass(frozen=True, eq=False)
class KnownSlates:
    """The slates that a shoot can show.

    `codes` are sorted. `free` marks the modules, (21, 21), that are not the same on every slate this shoot
    could ever have: 137, those of the pairs of characters after the shoot's mark and of error correction.
    `template` is +1 where all slates of the shoot are dark, -1 where all are light, 0 where free. `modules`
    has a row for each code: +1 dark, -1 light, over the free modules.
    """

    codes: tuple[str, ...]
    template: NDArray[np.int8]
    free: NDArray[np.bool_]
    modules: NDArray[np.float32]

    def match(self, values: NDArray[np.float32]) -> ClosedSetMatch:
        """The best match of one grid, (21, 21), or of any number of grids of one frame, (k, 21, 21).

        A value is what was seen of a module: above 0 for dark, below for light, the further from 0 the surer.
        Of more than GRIDS grids those that fit the template best are compared; this looks at no code, so the
        bound on chance holds. It holds for a frame whose grids are all given in one call.
        """
        return max(self.matches(values), key=lambda match: (match.accepted, match.score), default=_NOTHING)

    def matches(self, values: NDArray[np.float32]) -> tuple[ClosedSetMatch, ...]:
        """The best match of each of the grids that are compared: as `match`."""
        grids = np.asarray(values, np.float32).reshape(-1, MODULES, MODULES)
        chosen = np.sort(np.argsort(-self.fit(grids), kind="stable")[:GRIDS])
        seen = grids[chosen][:, self.free]
        agreements = seen @ self.modules.T
        return tuple(self._best(*each) for each in zip(seen, agreements, chosen.tolist(), strict=True))

    def fit(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        """How well each grid shows what all slates of the shoot have in common: a score as in Match, (k,)."""
        grids = np.asarray(values, np.float32).reshape(-1, MODULES * MODULES)
        seen = grids[:, (~self.free).ravel()]
        sizes = np.sqrt((seen * seen).sum(axis=1))
        agreements: NDArray[np.float32] = seen @ self.template[~self.free].astype(np.float32)
        return np.asarray(agreements / np.where(sizes > 0, sizes, 1), np.float32)

    def _best(self, seen: NDArray[np.float32], agreements: NDArray[np.float32], grid: int) -> ClosedSetMatch:
        size = float(np.sqrt(seen @ seen))
        if not self.codes or size == 0:
            return replace(_NOTHING, grid=grid)
        best = int(agreements.argmax())
        agreement = float(agreements[best])
        next_best = float(np.partition(agreements, -2)[-2]) if len(agreements) > 1 else 0.0
        needed = least_agreement(seen, math.log(len(self.codes) * GRIDS / CHANCE))
        accepted = agreement >= needed and _advantage(seen, agreement, next_best) >= math.log(1 / CHANCE)
        return ClosedSetMatch(
            self.codes[best], agreement / size, next_best / size, needed / size, accepted, grid
        )

    def signs(self, code: str) -> NDArray[np.int8]:
        """The slate of a known code: (21, 21), +1 dark, -1 light. Raises ValueError for any other."""
        drawn = self.template.copy()
        drawn[self.free] = self.modules[self.codes.index(code)].astype(np.int8)
        return drawn


def known_slates(shoot_mark: str, codes: Collection[str]) -> KnownSlates:
    """The slates of a shoot. Raises ValueError for a code that is not of this shoot."""
    head = PROJECT_MARK + shoot_mark
    if len(shoot_mark) != SHOOT_LENGTH or not all(code.startswith(head) for code in codes):
        raise ValueError(f"not all codes are of the shoot {shoot_mark!r}")
    in_order = tuple(sorted(set(codes)))
    _, changes = affine_parts()
    free: NDArray[np.bool_] = np.any(changes[len(head) // 2 * PAIR_BITS :], axis=0)
    common = qr_modules_of([head.ljust(TEXT_LENGTH, "0")])[0]
    template = np.where(free, 0, np.where(common, 1, -1)).astype(np.int8)
    modules = np.where(qr_modules_of(in_order)[:, free], 1, -1).astype(np.float32, order="F")
    return KnownSlates(in_order, template, free, modules)


def least_agreement(seen: NDArray[np.float32], nats: float) -> float:
    """Agreement with the values of a grid, (n,), that coins reach with a chance of at most exp(-nats)."""
    tilts, costs = _tilted(seen)
    return float(((nats + costs) / tilts).min())


def _advantage(seen: NDArray[np.float32], agreement: float, next_best: float) -> float:
    """Logarithm of how much likelier the best code is than the next."""
    tilts, costs = _tilted(seen)
    return float(tilts[(tilts * agreement - costs).argmax()]) * (agreement - next_best)


def _tilted(seen: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Tilts for the values of a grid, and C(t) of each."""
    known = seen[seen != 0].astype(float)
    tilts = _TILTS / np.sqrt((known * known).mean())
    tilted = np.abs(tilts[:, None] * known)
    costs = (tilted + np.log1p(np.exp(-2 * tilted)) - math.log(2)).sum(axis=1)
    return tilts, costs
