"""How matching does on drawn days, on which framing, light and clothes change from frame to frame.

Run: python -m tests.bench.bench_real_sets [--days 4] [--people 40] [--seed 0] [--jobs 2] [--keep FOLDER]

Every day is drawn, ingested and matched: light within a third of a stop, white balance (0.08 stop), framing
from head to waist to head and shoulders, instruments, jackets taken off, somebody passing behind, friends
dressed alike, the next person six seconds later, and the accidents of `REAL_SET`. Three rows: each person in
clothes of their own, all in one gown, and no accident at all. `--keep` saves each day's evidence and truth,
so that another way of matching can be tried on the same days without drawing them again.

Wrong / loose / without a slate, of each day; `--people 30 --seed 100 --days 3` (623 frames a row, 594 in the
last one), and `--people 100 --seed 300 --days 4` (2,890 and 2,797):

    real sets                0/18/13, 0/23/20, 0/45/28    0/75/47, 0/53/59, 0/106/73, 0/62/65
    real sets, in uniform    0/53/13, 0/26/20, 0/44/28    0/79/47, 0/103/59, 0/144/73, 0/84/65
    no accident              0/0/0, 0/9/0, 0/23/0         0/10/0, 0/12/0, 0/10/0, 0/13/0
"""

from __future__ import annotations

import argparse
import pickle
import tempfile
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from sqlmodel import select

from onsite.frames.ingest import ingest
from onsite.matching.match_frames import match
from onsite.reconcile.gather_evidence import gather_evidence
from onsite.simulator.accident_days.drawn_day import draw_day, shoot_of
from onsite.simulator.accident_days.score_simulated_match import Score, score
from onsite.simulator.accident_days.simulate import REAL_SET, Simulated, plan_day
from onsite.simulator.accident_days.simulated_frames import DayTruth
from onsite.store.schema import Camera, Frame
from tests.bench.bench_days import HEAD, line


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table: what its days are like."""

    name: str
    rates: Mapping[str, float]
    uniform: bool = False


ROWS = (Row("real sets", REAL_SET), Row("real sets, in uniform", REAL_SET, True), Row("no accident", {}))


def drawn(seed: int, people: int, row: Row) -> Simulated:
    """A drawn day as ingest and the door have it, and its truth; ids of frames are those in the store."""
    plan = plan_day(seed, people, row.rates, row.uniform, cameras=1, still=False)
    with tempfile.TemporaryDirectory() as made:
        cards = Path(made) / "cards"
        shoot = shoot_of(plan, Path(made) / "shoot")
        truth = draw_day(plan, cards)
        ingest(shoot, [cards], workers=1)
        with shoot.reading() as session:
            evidence = gather_evidence(session, shoot)
            found = select(Frame.id, Camera.serial, Frame.counter).where(Frame.camera_id == Camera.id)
            facts = {ident: truth[serial, counter] for ident, serial, counter in session.exec(found)}
    by_time = sorted(facts, key=lambda ident: facts[ident].at)
    evidence = replace(evidence, frames=tuple(evidence.frames))
    return Simulated(seed, evidence, DayTruth(facts, [by_time]))


def play(job: tuple[Row, int, int, str]) -> Score:
    row, seed, people, keep = job
    day = drawn(seed, people, row)
    if keep:
        Path(keep).mkdir(parents=True, exist_ok=True)
        (Path(keep) / f"{row.name.replace(' ', '-')}-{seed}.pickle").write_bytes(pickle.dumps(day))
    return score(day, match(day.evidence))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--days", type=int, default=4)
    parser.add_argument("--people", type=int, default=40)
    parser.add_argument("--seed", type=int, default=0, help="of the first day")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--keep", default="", help="folder for the evidence of each day")
    asked = parser.parse_args()
    print(HEAD)
    seeds = range(asked.seed, asked.seed + asked.days)
    with ProcessPoolExecutor(asked.jobs) as pool:
        for row in ROWS:
            scores = list(pool.map(play, [(row, seed, asked.people, asked.keep) for seed in seeds]))
            print(line(row.name, sum(scores, Score()), 0.0), flush=True)
            print("   wrong / loose / without a slate:", end=" ")
            print(", ".join(f"{s.wrong}/{s.loose}/{s.slateless}" for s in scores), flush=True)


if __name__ == "__main__":
    main()
