"""The closed set: which of the codes of this shoot a softly sampled grid of modules shows, if any."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onsite.slate.code import PROJECT_MARK, SHOOT_LENGTH
from onsite.slate.symbol import MODULES, PAIR_BITS, affine_parts, symbols

GRIDS = 512
"""Most grids that a reader may compare for one frame: the bound on chance counts on it."""

CHANCE = 1e-6
"""Most chance, for one frame, that a code is taken which has nothing to do with what the frame shows."""

LEAST_MARGIN = 2.0
"""Least lead of a score over the next best."""


@dataclass(frozen=True, slots=True)
class Match:
    """The code that fits a grid best, None where no codes are known; its score and the next best one's."""

    code: str | None
    score: float
    runner_up: float
    accepted: bool
    grid: int = 0

    @property
    def margin(self) -> float:
        return self.score - self.runner_up


@dataclass(frozen=True, eq=False)
class KnownSlates:
    """The slates that a shoot can show.

    `codes` are sorted. `free` marks the modules, (21, 21), that are not the same on every slate this shoot
    could ever have; `template` is +1 where all of those are dark, -1 where all are light, 0 where free.
    `modules` has a row for each code: +1 dark, -1 light, over the free modules.
    """

    codes: tuple[str, ...]
    template: NDArray[np.int8]
    free: NDArray[np.bool_]
    modules: NDArray[np.float32]

    def match(self, values: NDArray[np.float32]) -> Match:
        """The best match of one grid, (21, 21), or of several of one frame, (k, 21, 21).

        A value is what was seen of a module: above 0 for dark, below for light, the further from 0 the surer.
        """
        return max(self.matches(values), key=lambda match: (match.accepted, match.score))

    def matches(self, values: NDArray[np.float32]) -> tuple[Match, ...]:
        """The best match of every grid: as `match`."""
        seen = np.asarray(values, np.float32).reshape(-1, MODULES, MODULES)[:, self.free]
        if not self.codes:
            return tuple(Match(None, 0.0, 0.0, False, grid) for grid in range(len(seen)))
        sizes = np.sqrt((seen * seen).sum(1))
        scores = seen @ self.modules.T / np.where(sizes > 0, sizes, 1)[:, None]
        return tuple(self._best(grid, row) for grid, row in enumerate(scores))

    def _best(self, grid: int, scores: NDArray[np.float32]) -> Match:
        best = int(scores.argmax())
        score = float(scores[best])
        runner_up = float(np.partition(scores, -2)[-2]) if len(scores) > 1 else 0.0
        accepted = score >= self.least_score and score - runner_up >= LEAST_MARGIN
        return Match(self.codes[best], score, runner_up, accepted, grid)

    @property
    def least_score(self) -> float:
        """Score from which a code is taken."""
        return math.sqrt(2 * math.log(max(len(self.codes), 1) * GRIDS / CHANCE))

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
    changes = affine_parts()[1]
    free: NDArray[np.bool_] = np.any(changes[len(head) // 2 * PAIR_BITS :], axis=0)
    common = symbols([head + "0" * (2 * len(changes) // PAIR_BITS - len(head))])[0]
    template = np.where(free, 0, np.where(common, 1, -1)).astype(np.int8)
    modules = np.where(symbols(in_order)[:, free], 1, -1).astype(np.float32, order="F")
    return KnownSlates(in_order, template, free, modules)
