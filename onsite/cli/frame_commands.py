"""The commands `onsite ingest`, `onsite match` and `onsite frames …`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import Frames, open_chosen_shoot, station
from onsite.cli.output import print_answer, print_answer_with_names, print_text, show_progress
from onsite.core.frame_ref import frame_id_text
from onsite.core.json_data import json_data
from onsite.core.text import plural

if TYPE_CHECKING:
    from onsite.store.shoot import Shoot


def ingest(
    paths: Annotated[list[Path], Argument(metavar="PATH…", help="Folders or memory cards.")],
    camera: Annotated[str, Option(metavar="LABEL", help="The camera's name, such as A.")] = "",
    copy_to: Annotated[
        list[Path] | None, Option(metavar="DIR", help="Copy every file there, and compare the copy.")
    ] = None,
    look_again: Annotated[
        bool, Option("--look-again", help="Measure the colours again of frames read by an older onsite.")
    ] = False,
) -> None:
    """Read frames from memory cards or folders. Originals are never changed."""
    from onsite.frames.ingest import ingest as read_in
    from onsite.reconcile.measured_clocks import measured_in

    shoot = open_chosen_shoot()
    with show_progress("reading frames") as step:
        done = read_in(shoot, paths, camera, copy_to or [], step, look_again=look_again)
    clocks = measured_in(shoot, done.frame_ids.values())

    def text() -> None:
        rate = f", {done.files / done.seconds:.0f} a second" if done.files and done.seconds else ""
        print_text(f"{done.frames} new frames in {done.files} new files{rate}.")
        if not (done.files or done.known or done.repeated or done.completed or done.refused):
            print_text("Nothing there was a picture." if done.others else "There was no file in it.")
        if done.slates.text:
            print_text(f"Slates: {done.slates.text}.")
        for clock in clocks:
            print_text(f"Camera {clock.label}: clock {clock.text}.")
        if done.reread:
            print_text(f"Slates that did not read before and do now: {done.reread}.")
        if done.looked_again:
            print_text(f"Frames whose colours were looked at again: {done.looked_again}.")
        if done.known or done.repeated:
            print_text(f"{done.known} files were known; {done.repeated} had the content of a known one.")
        if done.completed:
            print_text(f"Read half copied before, and whole now: {plural(done.completed, 'file')}.")
        if done.copies:
            print_text(f"{done.copies} copies, each read back and the same.")
        if done.others:
            kinds = (f"{count} {ending}" for ending, count in sorted(done.others.items()))
            print_text(f"Not pictures: {', '.join(kinds)}")
        for path, reason in done.troubled:
            print_text(f"  kept, but nobody could look at it: {path}: {reason}")
        for path, reason in done.refused:
            print_text(f"  refused: {path}: {reason}")

    data = {**json_data(done), "clocks": [clock.data() for clock in clocks]}
    print_answer_with_names(shoot, data, text, in_part=bool(done.refused))


def match() -> None:
    """Match frames to people, and show what is loose and why."""
    from onsite.reconcile.current_match import summary_now
    from onsite.reconcile.match_report import match_summary_data, print_match_summary

    shoot = open_chosen_shoot()
    summary = summary_now(shoot)
    print_answer(match_summary_data(shoot, summary), lambda: print_match_summary(shoot, summary, print_text))


def export(file: Annotated[Path, Argument(metavar="FILE.csv", help="The file to write.")]) -> None:
    """Write the list of all frames as CSV."""
    from onsite.reconcile.export_frames import export_frames

    count = export_frames(open_chosen_shoot(), file)
    print_answer({"frames": count, "file": str(file)}, f"{count} frames listed in {file}.")


def give(
    words: Annotated[
        list[str], Argument(metavar="FRAMES WHO", help="One or more frames, then whose they are.")
    ],
) -> None:
    """Give frames to a person, by hand."""
    from onsite.core.errors import Problem
    from onsite.reconcile.overrides import give as decide

    if len(words) < 2:
        raise Problem(
            "Frames and a person are needed.",
            "onsite frames give FRAMES WHO, a name of several words in quotes.",
        )
    shoot = open_chosen_shoot()
    given = decide(shoot, words[:-1], words[-1], station(None))
    picked = _picked_by_others(shoot, given.frames, given.person.key)
    data = {
        "frames": [frame_id_text(frame) for frame in given.frames],
        "slates": [frame_id_text(frame) for frame in given.slates],
        "key": given.person.key,
        "name": given.person.name,
        "picked": picked,
    }
    left = f" Slates between them stay slates: {len(given.slates)}." if given.slates else ""
    print_answer_with_names(
        shoot, data, f"Frames given to {given.person.name}: {len(given.frames)}.{left}{_picked_text(picked)}"
    )


def aside(frames: Frames) -> None:
    """Set frames aside, such as test shots: kept, and nobody's."""
    from onsite.reconcile.overrides import set_aside

    shoot = open_chosen_shoot()
    chosen = set_aside(shoot, frames, station(None))
    picked = _picked_by_others(shoot, chosen)
    data = {"frames": [frame_id_text(frame) for frame in chosen], "picked": picked}
    print_answer_with_names(shoot, data, f"{plural(len(chosen), 'frame')} set aside.{_picked_text(picked)}")


def _picked_by_others(shoot: Shoot, frames: Sequence[int], key: str = "") -> list[dict[str, Any]]:
    """The picks among these frames of everybody but the person with the roster key `key`."""
    from onsite.frames.find_frames import frame_labels
    from onsite.roster.read_people import read_people
    from onsite.status.picture_status import picked_by

    with shoot.reading() as session:
        picks = picked_by(session, frozenset(frames))
        everybody = {person.id: person for person in read_people(session)} if picks else {}
        labels = frame_labels(session) if picks else {}
        return [
            {
                "frame": frame_id_text(pick.frame),
                "called": labels[pick.frame],
                "key": everybody[person].key,
                "name": everybody[person].name,
                "at_retouch": pick.at_retouch,
                "delivered": pick.delivered is not None,
            }
            for person, pick in picks
            if person in everybody and everybody[person].key != key
        ]


def _picked_text(picked: Sequence[dict[str, Any]]) -> str:
    def where(pick: dict[str, Any]) -> str:
        if pick["delivered"]:
            return ", and went out under that name: tell whoever has it."
        return f"{', and at retouch' if pick['at_retouch'] else ''}: it will not be delivered to them."

    return "".join(f" {pick['called']} is a pick of {pick['name']}{where(pick)}" for pick in picked)


def free(frames: Frames) -> None:
    """Take back what was decided by hand about these frames."""
    from onsite.reconcile.overrides import clear_override as take_back

    shoot = open_chosen_shoot()
    chosen = take_back(shoot, frames, station(None))
    data = {"frames": [frame_id_text(frame) for frame in chosen]}
    print_answer_with_names(shoot, data, f"{plural(len(chosen), 'frame')} matched again.")


def split(frame: Annotated[str, Argument(metavar="FRAME", help="The first frame of the new run.")]) -> None:
    """Split a run: somebody else begins with this frame."""
    from onsite.frames.find_frames import find_frame
    from onsite.reconcile.overrides import split_run as decide

    shoot = open_chosen_shoot()
    chosen = find_frame(shoot, frame)
    decide(shoot, chosen, station(None))
    print_answer_with_names(
        shoot, {"frame": frame_id_text(chosen)}, f"From {_frame_label(shoot, chosen)} on it is another run."
    )


def join(
    frame: Annotated[str, Argument(metavar="FRAME", help="Any frame of one run.")],
    to: Annotated[str, Argument(metavar="FRAME", help="Any frame of the other.")],
) -> None:
    """Join the runs of two frames: they are one person's."""
    from onsite.frames.find_frames import find_frame
    from onsite.reconcile.overrides import join_runs as decide

    shoot = open_chosen_shoot()
    first, other = find_frame(shoot, frame), find_frame(shoot, to)
    decide(shoot, first, other, station(None))
    data = {"frame": frame_id_text(first), "to": frame_id_text(other)}
    print_answer_with_names(
        shoot, data, f"The runs of {_frame_label(shoot, first)} and {_frame_label(shoot, other)} are one."
    )


def _frame_label(shoot: Shoot, frame: int) -> str:
    from onsite.frames.find_frames import frame_labels

    with shoot.reading() as session:
        return frame_labels(session)[frame]


def undo() -> None:
    """Undo the last decision made by hand at this station."""
    from onsite.core.errors import Problem
    from onsite.reconcile.overrides import undo_last_override

    here = station(None)
    shoot = open_chosen_shoot()
    undone = undo_last_override(shoot, here)
    if undone is None:
        raise Problem(
            f"No decision by hand made at {here} is left to undo.", "Take one back with: onsite frames free"
        )
    data = {
        "kind": undone.kind.value,
        "frames": [frame_id_text(frame) for frame in undone.frames],
        "name": undone.person,
    }
    print_answer_with_names(shoot, data, f"Undone: {undone.text}.")


def why(
    frame: Annotated[str, Argument(metavar="FRAME", help="A frame, such as A:1043, or its file name.")],
) -> None:
    """Show why a frame has its name, and what would change it."""
    from onsite.reconcile.explain_frame import explain_frame as ask
    from onsite.reconcile.explain_frame import print_explanation

    explanation = ask(open_chosen_shoot(), frame)
    print_answer(explanation, lambda: print_explanation(explanation, print_text))
