"""How people differ in their looks, learnt from made-up days in which one colour varies and others tell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from onsite.matching.cut_runs import PersonRun
from onsite.matching.looks import DayLooks, distances, lane_looks, learn_looks
from tests.matching.days import BINS, Day

FRAMES = 6
GOWN, HAIR, INSTRUMENT = range(20), range(100, 110), range(150, 160)


def in_gowns(people: int) -> tuple[Day, list[PersonRun]]:
    """People in one gown, of which more or less is seen from frame to frame, and an instrument now and then;
    a tenth of the picture is hair, which everybody has their own mixture of."""
    rng, day, runs = np.random.default_rng(5), Day(looks="none"), []
    for person in range(people):
        hair = rng.dirichlet(np.ones(len(HAIR)))
        places = range(person * (FRAMES + 1), (person + 1) * (FRAMES + 1))
        for _ in places:
            shares = np.full(BINS, 1e-4)
            shares[GOWN] += rng.dirichlet(np.ones(len(GOWN)) * 4) * rng.uniform(0.4, 0.9)
            shares[INSTRUMENT] += rng.uniform(0.0, 0.05, len(INSTRUMENT))
            shares[HAIR] += 0.1 * hair
            day.frame(person)
            signature = np.round(np.sqrt(shares / shares.sum()) * 255).astype(np.uint8).tobytes()
            object.__setattr__(day.frames[-1], "look", signature)
        runs.append(PersonRun(person, (places[0],), tuple(places[1:])))
    return day, runs


def learnt(people: int) -> DayLooks:
    day, runs = in_gowns(people)
    return learn_looks(lane_looks([day.frames]), [runs])


def ratios(looks: DayLooks, people: Sequence[int]) -> NDArray[np.floating]:
    """The likelihood ratios between the first half of each person's frames and the second half of the next
    one's; and for each person by themselves."""
    (frames,) = looks.lanes
    each = frames[: len(frames)].reshape(-1, FRAMES + 1, frames.shape[1])[:, 1:]
    first, second = each[:, : FRAMES // 2].sum(axis=1), each[:, FRAMES // 2 :].sum(axis=1)
    others = distances(first[list(people)], second[[person + 1 for person in people]])
    same = distances(first[list(people)], second[list(people)])
    return np.array([looks.likelihood_ratio(others), looks.likelihood_ratio(same)])


def test_a_choir_in_one_gown_is_told_apart_by_its_hair() -> None:
    others, same = ratios(learnt(120), range(100))
    assert np.median(others) > 10
    assert np.median(same) < 0.1
    assert (others > same).mean() > 0.95


def test_on_a_small_day_signatures_are_compared_as_they_are() -> None:
    """Of twelve people directions would be learnt that are one person's own."""
    (frames,) = learnt(12).lanes
    assert frames.shape[1] == BINS
    assert np.linalg.norm(frames, axis=1) == pytest.approx(1, abs=1e-5)


def test_a_look_that_is_not_known_says_nothing() -> None:
    looks = learnt(60)
    unknown = distances(np.zeros(looks.slate.shape), looks.lanes[0][:3])
    assert looks.likelihood_ratio(unknown).tolist() == [1.0, 1.0, 1.0]


def test_the_farther_apart_the_likelier_two_people() -> None:
    found = learnt(60).likelihood_ratio(np.linspace(0.0, 1.0, 50))
    assert (np.diff(found) >= 0).all()
    assert found[0] < 0.01 < 1 < found[-1]


def test_a_run_of_two_people_does_not_teach_that_one_person_differs_as_much() -> None:
    """The run that is judged is one of those that the day's looks are learnt from."""
    day, runs = in_gowns(60)
    places = [*runs[10].frames, *runs[11].frames]
    both = PersonRun(10, runs[10].slate, tuple(places))
    looks = learn_looks(lane_looks([day.frames]), [[*runs[:10], both, *runs[12:]]])
    assert ratios(looks, [10])[0] > 1
