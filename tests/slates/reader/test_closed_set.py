"""The closed set: damaged slates of known codes are read, and no code is read out of anything else."""

from __future__ import annotations

import math
import random
import subprocess
import sys
from collections.abc import Callable
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from stdnum.iso7064 import mod_37_36

from onsite.core.codes import ALPHABET, PROJECT_MARK, new_code
from onsite.slates.qr_symbol import qr_modules
from onsite.slates.reader.closed_set import (
    CHANCE,
    GRIDS,
    ClosedSetMatch,
    KnownSlates,
    known_slates,
    least_agreement,
)
from tests.slates.taken import is_pattern

Grid = NDArray[np.float32]

SHOOT = "3479"
seeds = st.integers(0, 2**32 - 1)


def codes(count: int, seed: int = 1, shoot: str = SHOOT) -> list[str]:
    rng = random.Random(seed)
    drawn: list[str] = []
    for _ in range(count):
        drawn.append(new_code(shoot, drawn, rng))
    return drawn


def match_of(known: KnownSlates, grid: Grid) -> ClosedSetMatch:
    return known.match(grid[known.free])


CODES = codes(1000)
KNOWN = known_slates(SHOOT, CODES)
UNKNOWN = [code for code in codes(200, seed=2) if code not in CODES]


def signs(code: str) -> Grid:
    return np.where(qr_modules(code), 1, -1).astype(np.float32)


def damaged(chance: np.random.Generator, shown: Grid, unseen: float, spread: float) -> Grid:
    """With a normal error, and a share of the modules not seen."""
    seen = chance.random(shown.shape) >= unseen
    return np.where(seen, shown + spread * chance.normal(size=shown.shape), 0).astype(np.float32)


def stripes(chance: np.random.Generator) -> Grid:
    rows, columns = np.mgrid[:21, :21]
    angle = chance.uniform(0, math.pi)
    along = rows * math.sin(angle) + columns * math.cos(angle)
    return np.sin(2 * math.pi * along / chance.uniform(1.5, 30)).astype(np.float32)


def blocks(chance: np.random.Generator) -> Grid:
    size = int(chance.integers(2, 8))
    drawn = chance.choice([-1, 1], (21, 21)).repeat(size, 0).repeat(size, 1)
    return drawn[:21, :21].astype(np.float32)


def halves(chance: np.random.Generator) -> Grid:
    first, second = chance.choice(UNKNOWN, 2, replace=False)
    return np.where(np.arange(21) < 11, signs(first), signs(second))


NOTHING_KNOWN: dict[str, Callable[[np.random.Generator], Grid]] = {
    "noise": lambda chance: chance.normal(size=(21, 21)).astype(np.float32),
    "dark": lambda _: np.ones((21, 21), np.float32),
    "gradient": lambda chance: (np.mgrid[:21, :21][0] - chance.uniform(0, 20)).astype(np.float32),
    "stripes": stripes,
    "blocks": blocks,
    "an unknown slate, clean": lambda chance: signs(chance.choice(UNKNOWN)),
    "an unknown slate, damaged": lambda chance: damaged(chance, signs(chance.choice(UNKNOWN)), 0.5, 0.8),
    "two unknown slates": halves,
    "a slate of another shoot": lambda chance: signs(codes(1, int(chance.integers(99)), "XTQ7")[0]),
    "the wrong way round": lambda chance: -signs(chance.choice(CODES)),
    "a quarter turn": lambda chance: np.rot90(signs(chance.choice(CODES))),
}


def test_the_template_is_what_every_slate_of_the_shoot_has_and_nothing_else() -> None:
    drawn = np.array([signs(code) for code in codes(300, seed=5)])
    same = (drawn == drawn[0]).all(axis=0)
    assert (same == ~KNOWN.free).all()
    assert (KNOWN.template == np.where(same, drawn[0], 0)).all()
    assert not (KNOWN.free & is_pattern()).any()
    # 13 of the 26 codewords of version 1-Q are error correction (ISO/IEC 18004, table 9), three pairs of
    # characters have 11 bits each (7.4.4).
    assert KNOWN.free.sum() == 13 * 8 + 3 * 11


@pytest.mark.parametrize("some", [[], CODES[:1], CODES[:2]])
def test_the_template_does_not_hang_on_the_codes(some: list[str]) -> None:
    assert (known_slates(SHOOT, some).template == KNOWN.template).all()
    assert (known_slates(SHOOT, some).free == KNOWN.free).all()


def test_codes_are_in_order_and_none_twice() -> None:
    assert known_slates(SHOOT, [*CODES[:5], *CODES[:3]]).codes == tuple(sorted(CODES[:5]))


def test_the_modules_of_a_code_are_its_symbol() -> None:
    drawn = np.array([signs(code)[KNOWN.free] for code in KNOWN.codes[:50]])
    assert (KNOWN.modules[:50] == drawn).all()


@pytest.mark.parametrize(
    ("shoot", "code"), [(SHOOT, "NXXTQ7ACDEFH"), ("34", CODES[0]), (SHOOT, "AB3479ACDEFH")]
)
def test_a_code_that_is_not_of_the_shoot_is_refused(shoot: str, code: str) -> None:
    with pytest.raises(ValueError):
        known_slates(shoot, [code])


@pytest.mark.parametrize("code", CODES[:20])
def test_a_clean_slate_is_read(code: str) -> None:
    match = match_of(KNOWN, signs(code))
    assert (match.code, match.accepted) == (code, True)
    assert match.score == pytest.approx(math.sqrt(137))
    assert match.margin == match.score - match.runner_up > 5


@pytest.mark.parametrize(
    ("unseen", "spread", "share"),
    [
        (0, 0.78, 1.0),  # one module in ten wrong
        (0, 1.0, 0.98),  # one in six
        (0.3, 0.78, 0.98),
        (0.5, 0.5, 1.0),  # one in forty
        (0.5, 0.78, 0.7),  # one in ten
    ],
)
def test_damaged_slates_are_read_and_never_wrongly(unseen: float, spread: float, share: float) -> None:
    chance = np.random.default_rng(1)
    shown = chance.choice(CODES, 200)
    matches = [match_of(KNOWN, damaged(chance, signs(code), unseen, spread)) for code in shown]
    read = [match.code == code for match, code in zip(matches, shown, strict=True) if match.accepted]
    assert all(read)
    assert len(read) >= share * len(shown)


def test_a_slate_of_which_a_third_is_seen_well_is_read() -> None:
    grid = signs(CODES[3])
    grid[:, 14:] = 0
    grid[14:] = 0
    match = match_of(KNOWN, grid)
    assert (match.code, match.accepted) == (CODES[3], True)


@pytest.mark.parametrize("kind", NOTHING_KNOWN)
def test_nothing_is_read_where_no_known_slate_is_shown(kind: str) -> None:
    chance = np.random.default_rng(1)
    assert not any(match_of(KNOWN, NOTHING_KNOWN[kind](chance)).accepted for _ in range(100))


@pytest.fixture(scope="module")
def relatives() -> KnownSlates:
    """All codes whose first two characters after the shoot's mark are one of six pairs."""
    starts = [code[len(PROJECT_MARK + SHOOT) :][:2] for code in (*CODES[:2], *UNKNOWN[:4])]
    bodies = [
        PROJECT_MARK + SHOOT + start + "".join(rest)
        for start in starts
        for rest in product(ALPHABET, repeat=3)
    ]
    checked = (body + mod_37_36.calc_check_digit(body) for body in bodies)
    return known_slates(SHOOT, [code for code in checked if code[-1] in ALPHABET])


@pytest.mark.parametrize("kind", [*NOTHING_KNOWN, "relatives"])
def test_codes_that_are_not_shown_agree_no_more_than_coins(kind: str, relatives: KnownSlates) -> None:
    # The bound that the rule stands on, P <= exp(-nats), held against whole families of codes: above all by
    # slates of members, for which all others of the family are relatives.
    chance = np.random.default_rng(1)
    grids = (
        [
            damaged(chance, signs(code), unseen, spread)
            for code in (*CODES[:2], *UNKNOWN[:4])
            for unseen, spread in product((0, 0.3, 0.6), (0, 0.8))
        ]
        if kind == "relatives"
        else [NOTHING_KNOWN[kind](chance) for _ in range(40)]
    )
    not_shown = ~np.isin(relatives.codes, [*CODES, *UNKNOWN])
    assert not_shown.sum() > 30_000
    seen = np.array([grid[relatives.free] for grid in grids])
    agreements = relatives.modules[not_shown] @ seen.T
    for nats in (4, 6, 8):
        least = np.array([least_agreement(row, nats) for row in seen])
        assert (agreements >= least).mean() <= math.exp(-nats)


def test_no_two_codes_of_a_family_are_close(relatives: KnownSlates) -> None:
    # So what a clean slate says for a wrong code is far from enough.
    needed = match_of(KNOWN, signs(CODES[0])).needed
    for code in (*CODES[:2], *UNKNOWN[:4]):
        match = match_of(relatives, signs(code))
        assert match.code == code
        assert match.runner_up < needed - 1


@given(st.integers(1, 137), st.floats(1, 30), seeds)
def test_the_bound_asks_no_more_than_hoeffdings(count: int, nats: float, seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=count).astype(np.float32)
    hoeffding = math.sqrt(2 * nats) * float(np.linalg.norm(values))
    # Its best tilt can lie between two of those tried.
    assert least_agreement(values, nats) <= 1.01 * hoeffding or hoeffding > np.abs(values).sum()


@pytest.mark.parametrize(("count", "nats"), [(40, 5), (68, 20), (137, 10), (137, 30)])
def test_the_bound_holds_for_coins_and_is_near(count: int, nats: float) -> None:
    least = least_agreement(np.ones(count, np.float32), nats)
    heads = math.ceil((least + count) / 2)
    exact = sum(math.comb(count, more) for more in range(heads, count + 1)) / 2**count
    assert math.exp(-nats - 4) < exact <= math.exp(-nats)


@given(st.integers(1, 60), st.integers(1, 60), seeds)
def test_modules_that_were_not_seen_ask_for_nothing(count: int, unseen: int, seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=count).astype(np.float32)
    assert least_agreement(np.pad(values, (0, unseen)), 20) == pytest.approx(least_agreement(values, 20))


def test_a_perfect_match_needs_as_many_modules_as_coins_say() -> None:
    # m coins fall as wanted once in 2 ** m.
    coins = math.log2(len(CODES) * GRIDS / CHANCE)
    free = np.argwhere(KNOWN.free)
    chance = np.random.default_rng(1)
    for code in CODES[:20]:
        chance.shuffle(free)
        for count, enough in ((math.floor(coins), False), (math.ceil(coins) + 1, True)):
            grid = np.zeros((21, 21), np.float32)
            seen = tuple(free[:count].T)
            grid[seen] = signs(code)[seen]
            match = match_of(KNOWN, grid)
            assert (match.code, match.score >= match.needed) == (code, enough)
            assert enough or not match.accepted


def test_more_codes_need_a_higher_score() -> None:
    grid = signs(CODES[0])
    few, many = match_of(known_slates(SHOOT, CODES[:10]), grid), match_of(KNOWN, grid)
    assert few.needed < many.needed <= math.sqrt(2 * math.log(len(CODES) * GRIDS / CHANCE))


def test_two_known_slates_in_one_grid_name_nobody_else() -> None:
    chance = np.random.default_rng(1)
    for _ in range(200):
        shown = chance.choice(CODES, 2, replace=False)
        match = match_of(KNOWN, np.where(chance.random((21, 21)) < 0.5, *map(signs, shown)))
        assert not match.accepted or match.code in shown


def test_a_tie_is_not_taken() -> None:
    first, second = CODES[:2]
    match = match_of(known_slates(SHOOT, [first, second]), signs(first) + signs(second))
    assert match.margin == pytest.approx(0, abs=1e-5)
    assert not match.accepted


def test_where_nothing_tells_two_codes_apart_neither_is_taken() -> None:
    first, second = sorted(CODES[:2])
    both = known_slates(SHOOT, [first, second])
    alike = np.where(signs(first) == signs(second), signs(first), 0).astype(np.float32)
    match = match_of(both, alike)
    assert match.score > match.needed
    assert not match.accepted


def test_no_codes_give_nothing() -> None:
    match = match_of(known_slates(SHOOT, []), signs(CODES[0]))
    assert match == ClosedSetMatch(None, 0.0, 0.0, math.inf, False)


def test_an_empty_grid_gives_nothing() -> None:
    match = match_of(KNOWN, np.zeros((21, 21), np.float32))
    assert (match.code, match.accepted) == (None, False)


def test_one_code_alone_has_no_runner_up() -> None:
    match = match_of(known_slates(SHOOT, CODES[:1]), signs(CODES[0]))
    assert (match.code, match.runner_up, match.accepted) == (CODES[0], 0.0, True)


of_known_slates = st.builds(
    lambda seed, unseen, spread: damaged(
        np.random.default_rng(seed), signs(CODES[seed % len(CODES)]), unseen, spread
    ),
    seeds,
    st.floats(0, 0.9),
    st.floats(0, 3),
)


@given(of_known_slates)
def test_what_is_accepted_passes_both_tests(grid: Grid) -> None:
    match = match_of(KNOWN, grid)
    if match.accepted:
        assert match.score >= match.needed
        assert match.margin > 0


@given(of_known_slates)
def test_light_for_dark_is_never_accepted(grid: Grid) -> None:
    assert not match_of(KNOWN, -grid).accepted


@given(of_known_slates, st.integers(-8, 8))
def test_the_scale_of_the_values_does_not_matter(grid: Grid, power: int) -> None:
    one, other = match_of(KNOWN, grid), match_of(KNOWN, grid * np.float32(2.0**power))
    assert (one.code, one.accepted) == (other.code, other.accepted)
    assert (one.score, one.needed) == pytest.approx((other.score, other.needed), rel=1e-5)


@pytest.mark.long
@given(of_known_slates, seeds)
def test_the_order_of_the_codes_does_not_matter(grid: Grid, seed: int) -> None:
    some = CODES[:50]
    shuffled = random.Random(seed).sample(some, len(some))
    assert match_of(known_slates(SHOOT, shuffled), grid) == match_of(known_slates(SHOOT, some), grid)


@given(of_known_slates, st.integers(0, 2**32 - 1))
def test_modules_that_all_slates_share_do_not_matter(grid: Grid, seed: int) -> None:
    other = np.where(KNOWN.free, grid, np.random.default_rng(seed).normal(size=grid.shape)).astype(np.float32)
    assert match_of(KNOWN, other) == match_of(KNOWN, grid)


def test_the_commands_start_without_it() -> None:
    listing = "import sys, onsite.cli; print('onsite.slates.reader.closed_set' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", listing], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"
