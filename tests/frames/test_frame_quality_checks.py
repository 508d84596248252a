"""Warnings about a frame that landed."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.frames.frame_measures import Lab, PictureMeasures
from onsite.frames.frame_quality_checks import (
    LONE_SLATE_SECONDS,
    LaneFrame,
    SlateOnSet,
    SlateOwner,
    WarningKind,
    check_quality,
    lone_slate,
    typical_measures,
)

BACKDROP = Lab(48.0, -6.0, 3.0)
NORMAL = PictureMeasures(0.24, 0.12, BACKDROP)
MIRA = SlateOnSet(SlateOwner.ASSIGNED, "NX", "Mira Toll")
OTTO = SlateOnSet(SlateOwner.ASSIGNED, "NY", "Otto Brandl")


def frame(counter: int | None = None, measures: PictureMeasures = NORMAL, **more: object) -> LaneFrame:
    return LaneFrame(counter or 1, counter, measures=measures, **more)  # type: ignore[arg-type]


def lane(last: int = 20, slate: SlateOnSet = MIRA) -> list[LaneFrame]:
    """Ten portraits of somebody, a slate, and five of the next one."""
    earlier = [frame(counter) for counter in range(last - 15, last - 5)]
    return [
        *earlier,
        frame(last - 5, slate=slate),
        *(frame(counter) for counter in range(last - 4, last + 1)),
    ]


def kinds(landed: LaneFrame, before: list[LaneFrame]) -> list[WarningKind]:
    told = check_quality(landed, before)
    assert all(alarm.text and "\n" not in alarm.text for alarm in told)
    return [alarm.kind for alarm in told]


def text(landed: LaneFrame, before: list[LaneFrame]) -> str:
    (alarm,) = check_quality(landed, before)
    return alarm.text


def test_a_frame_like_its_run_gives_no_warning() -> None:
    assert check_quality(frame(21), lane()) == []


@given(st.floats(0.02, 0.9), st.floats(0.01, 2.0), st.floats(5, 95), st.floats(-40, 40), st.integers(1, 9998))
def test_whatever_is_usual_gives_no_warning(
    brightness: float, sharpness: float, light: float, hue: float, counter: int
) -> None:
    same = PictureMeasures(brightness, sharpness, Lab(light, hue, hue))
    before = [frame(counter, same) for _ in range(12)]
    assert check_quality(frame(counter + 1, same), before) == []


@given(st.lists(st.floats(0, 1), min_size=8, max_size=12), st.randoms())
def test_what_is_usual_does_not_depend_on_the_order(lights: list[float], rng: object) -> None:
    frames = [frame(1, PictureMeasures(light, light, Lab(light, light, light))) for light in lights]
    mixed = list(frames)
    rng.shuffle(mixed)  # type: ignore[attr-defined]
    assert typical_measures(mixed) == typical_measures(frames)


def test_nothing_is_usual_at_the_start_of_a_day() -> None:
    assert check_quality(frame(1, PictureMeasures(0.01, 0.001, Lab(1, 0, 0))), []) == []
    assert typical_measures([frame(1)] * 3).brightness is None


# Light


def test_a_frame_much_darker_than_its_run() -> None:
    dark = PictureMeasures(0.05, 0.12, Lab(20.0, -3.0, 1.0))
    assert kinds(frame(21, dark), lane()) == [WarningKind.DARK]
    assert "21 % of the light" in text(frame(21, dark), lane())


def test_a_stop_less_is_no_flash_that_did_not_fire() -> None:
    assert kinds(frame(21, replace(NORMAL, brightness=0.12)), lane()) == []


def first_of_next(measures: PictureMeasures) -> tuple[LaneFrame, list[LaneFrame]]:
    return frame(22, measures), [*lane(), frame(21, slate=OTTO)]


def test_black_clothes_are_not_darkness() -> None:
    assert kinds(*first_of_next(PictureMeasures(0.03, 0.12, BACKDROP))) == []


def test_the_first_frame_of_a_run_without_flash_is_dark_against_the_day() -> None:
    assert kinds(*first_of_next(PictureMeasures(0.03, 0.12, Lab(15.0, -2.0, 1.0)))) == [WarningKind.DARK]


# Focus


def test_a_frame_softer_than_its_run() -> None:
    assert kinds(frame(21, replace(NORMAL, sharpness=0.05)), lane()) == [WarningKind.SOFT]


def test_plain_clothes_are_not_softness_but_next_to_nothing_sharp_is() -> None:
    assert kinds(*first_of_next(replace(NORMAL, sharpness=0.04))) == []
    assert kinds(*first_of_next(replace(NORMAL, sharpness=0.01))) == [WarningKind.SOFT]


# Backdrop


def test_a_backdrop_that_drifted() -> None:
    moved = replace(NORMAL, backdrop=Lab(48.0, -6.0, 20.0))
    assert kinds(frame(21, moved), lane()) == [WarningKind.BACKDROP]
    assert "ΔE00" in text(frame(21, moved), lane())


def test_a_backdrop_that_is_hidden_or_a_little_off_has_not_drifted() -> None:
    assert kinds(frame(21, replace(NORMAL, backdrop=None)), lane()) == []
    assert kinds(frame(21, replace(NORMAL, backdrop=Lab(50.0, -6.0, 4.0))), lane()) == []


# Counters


@pytest.mark.parametrize(
    ("before", "counter", "told"),
    [
        (9999, 1, None),  # DCF (JEITA CP-3461): numbers go from 0001 to 9999, and round again
        (9998, 9999, None),
        (20, 22, "0021 is missing"),
        (20, 24, "0021 to 0023 are missing"),
        (9998, 1, "9999 is missing"),
        (9997, 3, "9998 to 0002 are missing"),
        (9999, 2, "0001 is missing"),
        (20, 7001, "from 0020 to 7001"),
        (22, 21, None),  # it landed late
        (10_400, 10_401, None),  # some bodies count in five digits (common practice, no source)
        (20, None, None),
    ],
)
def test_jumps_of_the_counter(before: int, counter: int | None, told: str | None) -> None:
    found = [
        alarm for alarm in check_quality(frame(counter), [frame(before)]) if alarm.kind is WarningKind.COUNTER
    ]
    assert [told in alarm.text for alarm in found if told] == ([True] if told else [])
    assert bool(found) is bool(told)


@given(st.integers(1, 9999), st.integers(1, 500))
def test_as_many_are_told_missing_as_are(before: int, missing: int) -> None:
    counter = (before + missing) % 9999 + 1
    (alarm,) = check_quality(frame(counter), [frame(before)])
    numbers = [int(word) for word in alarm.text.replace(".", "").split() if word.isdigit()]
    assert (numbers[-1] - numbers[0]) % 9999 + 1 == missing


# Damage


def test_a_frame_that_could_not_be_decoded_is_told_and_not_judged() -> None:
    damaged = frame(21, PictureMeasures(), trouble="the picture is damaged: truncated")
    assert kinds(damaged, lane()) == [WarningKind.DAMAGED]
    assert typical_measures([damaged] * 9).brightness is None


# Slates


@pytest.mark.parametrize(
    ("slate", "told"),
    [
        (OTTO, []),
        (SlateOnSet(SlateOwner.UNREAD), [WarningKind.UNREAD]),
        (SlateOnSet(SlateOwner.OTHER_SHOOTS, "NZ"), [WarningKind.OTHER_SHOOT]),
        (SlateOnSet(SlateOwner.UNASSIGNED, "NZ"), [WarningKind.NOBODY]),
        (replace(OTTO, has_arrived=False), [WarningKind.NOT_ARRIVED]),
        (replace(OTTO, frames_before=6), [WarningKind.SHOT_BEFORE]),
    ],
)
def test_slates(slate: SlateOnSet, told: list[WarningKind]) -> None:
    assert kinds(frame(21, slate=slate), lane()) == told


def test_a_white_card_does_not_make_a_slate_too_light_or_the_next_frame_too_dark() -> None:
    bright = replace(NORMAL, brightness=0.9)
    run = [*lane(), frame(21, bright, slate=OTTO), frame(22)]
    assert check_quality(frame(23), run) == []


def test_no_frames_between_two_slates() -> None:
    before = [*lane(), frame(21, slate=MIRA)]
    assert kinds(frame(22, slate=OTTO), before) == [WarningKind.NO_FRAMES]
    assert "Mira Toll" in text(frame(22, slate=OTTO), before)


def test_one_slate_shot_twice_is_one_slate() -> None:
    assert kinds(frame(22, slate=MIRA), [*lane(), frame(21, slate=MIRA)]) == []


def test_a_tail_slate_has_its_frames_before_it() -> None:
    before = [*lane(), frame(21, slate=replace(MIRA, is_tail=True))]
    assert kinds(frame(22, slate=OTTO), before) == []
    assert lone_slate(before, 1e9) is None


def test_a_slate_left_alone_is_told_after_a_while() -> None:
    before = [*lane(), frame(21, slate=MIRA)]
    assert lone_slate(before, LONE_SLATE_SECONDS - 1) is None
    alarm = lone_slate(before, LONE_SLATE_SECONDS)
    assert alarm is not None
    assert alarm.kind is WarningKind.NO_FRAMES
    assert lone_slate([*before, frame(22)], 1e9) is None
    assert lone_slate([], 1e9) is None


def test_frames_without_a_slate_are_told_once() -> None:
    first, second = frame(1, doubt="no slate before them"), frame(2, doubt="no slate before them")
    assert kinds(first, []) == [WarningKind.NO_SLATE]
    assert kinds(second, [first]) == []
    assert kinds(second, [first, frame(3, slate=SlateOnSet(SlateOwner.UNREAD))]) == [WarningKind.NO_SLATE]


def test_the_gravest_comes_first_and_each_kind_once() -> None:
    before = [*lane(), frame(21, slate=MIRA)]
    landed = frame(25, slate=SlateOnSet(SlateOwner.UNREAD), trouble="the picture is damaged")
    told = kinds(landed, before)
    assert told == [WarningKind.NO_FRAMES, WarningKind.UNREAD, WarningKind.DAMAGED, WarningKind.COUNTER]


def test_names_are_told_as_written() -> None:
    hostile = replace(OTTO, name="[red]Eve\x1b[31m", has_arrived=False)
    assert "[red]Eve\x1b[31m" in text(frame(21, slate=hostile), lane())


def test_order_of_portraits_in_a_run_does_not_matter() -> None:
    lights = (0.2, 0.25, 0.3)
    soft = frame(9, replace(NORMAL, brightness=0.06))
    told = {
        tuple(kinds(soft, [frame(8, replace(NORMAL, brightness=light)) for light in mixed]))
        for mixed in permutations(lights)
    }
    assert told == {(WarningKind.DARK,)}
