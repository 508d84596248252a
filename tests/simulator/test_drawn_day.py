"""A planned day as pictures and as numbers: the same frames, the same truth, and what the pictures show."""

from __future__ import annotations

import pytest
from sqlmodel import select

from onsite.core.colour_signature import version_of
from onsite.frames.ingest import ingest
from onsite.matching.evidence import FrameEvidence
from onsite.reconcile.gather_evidence import gather_evidence
from onsite.simulator.accident_days.drawn_day import draw_day, shoot_of
from onsite.simulator.accident_days.simulate import plan_day, simulate
from onsite.simulator.accident_days.simulated_turns import What
from onsite.simulator.invented_exposure import STILL
from onsite.store.schema import Camera, Frame

RATES = {"light_test": 0.2, "unreadable": 0.2}
PEOPLE = 5


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> dict[str, object]:
    """What ingest makes of a drawn day, in order of the file counter, with the truth of each frame."""
    folder = tmp_path_factory.mktemp("drawn")
    plan = plan_day(4, PEOPLE, RATES, cameras=1, still=False)
    shoot = shoot_of(plan, folder / "shoot")
    truth = draw_day(plan, folder / "cards")
    done = ingest(shoot, [folder / "cards"], workers=1)
    with shoot.reading() as session:
        evidence = gather_evidence(session, shoot)
        rows = session.exec(
            select(Frame.id, Camera.serial, Frame.counter).where(Frame.camera_id == Camera.id)
        )
        facts = {ident: truth[serial, counter] for ident, serial, counter in rows}
    frames = sorted(evidence.frames, key=lambda frame: facts[frame.id].at)
    return {"done": done, "evidence": evidence, "frames": frames, "facts": facts}


@pytest.mark.long
def test_every_frame_comes_through_ingest(played: dict) -> None:
    simulated = simulate(4, PEOPLE, RATES, cameras=1, still=False)
    assert not played["done"].refused
    assert not played["done"].troubled
    assert [frame.counter for frame in played["frames"]] == [f.counter for f in simulated.evidence.frames]
    assert [played["facts"][frame.id] for frame in played["frames"]] == list(simulated.truth.frames.values())


@pytest.mark.long
def test_pictures_and_numbers_tell_the_same_of_slates_and_times(played: dict) -> None:
    def told(frame: FrameEvidence) -> tuple[float, list[str | None], bool]:
        texts = [symbol.text for symbol in frame.symbols if symbol.text is not None]
        return round(frame.taken or 0.0, 1), texts, version_of(frame.look or b"") == 2

    simulated = simulate(4, PEOPLE, RATES, cameras=1, still=False)
    for frame, expected in zip(played["frames"], simulated.evidence.frames, strict=True):
        fact, (at, texts, is_seen) = played["facts"][frame.id], told(expected)
        own = [code for code, person in simulated.evidence.codes.items() if person in fact.on]
        hard_to_read = fact.what is What.SLATE and fact.slateless
        assert told(frame) in ([(at, texts, is_seen)] + [(at, own, is_seen)] * hard_to_read)
    assert played["evidence"].codes == simulated.evidence.codes
    assert played["evidence"].arrived == pytest.approx(simulated.evidence.arrived)


def test_on_a_still_set_conditions_are_the_same_in_every_frame() -> None:
    still, varied = (plan_day(4, 30, {}, cameras=1, still=one) for one in (True, False))
    assert {one.shot.conditions for one in still.lanes[0]} == {STILL}
    assert len({one.shot.conditions for one in varied.lanes[0]}) == len(varied.lanes[0])
    assert all(one.shot.conditions.zoom == 1 for one in varied.lanes[0] if one.shot.what is What.SLATE)
