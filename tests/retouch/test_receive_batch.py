"""Files come back: the right ones are accepted, and everything else is told."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from onsite.core.errors import Problem
from onsite.reconcile.overrides import give_frames
from onsite.retouch.accept_or_reject import accept, again
from onsite.retouch.batch_contents import BatchOrder
from onsite.retouch.check_returned import FaultKind
from onsite.retouch.receive_batch import ReceiveResult, receive_batch
from onsite.retouch.send_batch import send_batch
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot
from tests.retouch.prints import pick, portrait, retouched

NAMES = ("0001_f1", "0002_f3", "0003_f5")


@pytest.fixture
def sent(picked: Shoot, tmp_path: Path) -> Shoot:
    """The same shoot with its three picks out, and an empty folder `back`."""
    send_batch(picked, tmp_path / "batch", BatchOrder(retoucher="A service", named=False))
    (tmp_path / "back").mkdir()
    return picked


def work(
    tmp_path: Path, number: int, name: str = "", picture: Image.Image | None = None, **how: object
) -> Path:
    """The retouched file of pick `number`, or that picture, under a name of its own."""
    file = tmp_path / "back" / (name or f"{NAMES[number - 1]}.jpg")
    picture = picture or retouched(Image.open(tmp_path / "batch" / f"{NAMES[number - 1]}.jpg"))
    picture.save(file, **({"quality": 95} | how))
    return file


def troubles(received: ReceiveResult) -> dict[str, list[FaultKind]]:
    return {one.path.name: [wrong.trouble for wrong in one.wrong] for one in received.held}


def test_what_is_right_is_accepted_and_copied_into_the_shoot(sent: Shoot, tmp_path: Path) -> None:
    for number in (1, 2, 3):
        work(tmp_path, number)
    received = receive_batch(sent, tmp_path / "back", station="desk")
    assert [kept for _, kept in received.accepted] == [f"retouched/{name}.jpg" for name in NAMES]
    assert not received.held
    assert not received.missing
    with sent.reading() as session:
        events = read_events(session, [EventKind.RECEIVED])
        picks = [person.picks[0] for person in read_picture_statuses(session).values()]
    for event, name in zip(events, NAMES, strict=True):
        sha256 = hashlib.sha256((tmp_path / "back" / f"{name}.jpg").read_bytes()).hexdigest()
        kept = sent.folder / "retouched" / f"{name}.jpg"
        assert event.details == {
            "batch": "batch-1",
            "version": 1,
            "file": f"retouched/{name}.jpg",
            "sha256": sha256,
        }
        assert hashlib.sha256(kept.read_bytes()).hexdigest() == sha256
    assert all(one.received and not one.at_retouch for one in picks)


@pytest.mark.long
@pytest.mark.parametrize(
    "name",
    [
        "0001_f1-retouched.jpg",
        "0001 F1_v2.JPG",
        "Copy of 0001_f1.jpg",
        "0001_f1 (1).jpeg",
        "0001_f1.tif",
        "f1.jpg",
    ],
)
def test_names_with_additions(sent: Shoot, tmp_path: Path, name: str) -> None:
    work(tmp_path, 1, name)
    received = receive_batch(sent, tmp_path / "back")
    assert [one.out.frame for one, _ in received.accepted if one.out] == [1]
    assert [out.frame for out in received.missing] == [3, 5]


def test_a_dry_run_accepts_nothing(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1)
    assert len(receive_batch(sent, tmp_path / "back", dry_run=True).accepted) == 1
    assert not (sent.folder / "retouched").exists()
    with sent.reading() as session:
        assert not read_events(session, [EventKind.RECEIVED])


@pytest.mark.long
def test_it_can_be_run_again(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1)
    receive_batch(sent, tmp_path / "back")
    work(tmp_path, 2)
    received = receive_batch(sent, tmp_path / "back")
    assert [one.out.frame for one, _ in received.accepted if one.out] == [3]
    assert len(received.known) == 1
    with sent.reading() as session:
        assert len(read_events(session, [EventKind.RECEIVED])) == 2


def test_two_pictures_under_each_others_names(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, "0002_f3.jpg")
    work(tmp_path, 2, "0001_f1.jpg")
    received = receive_batch(sent, tmp_path / "back")
    assert not received.accepted
    assert troubles(received) == {"0001_f1.jpg": [FaultKind.SWAPPED], "0002_f3.jpg": [FaultKind.SWAPPED]}
    assert "named as A:0010 and shows A:0020, 0002_f3.jpg" in received.held[0].wrong[0].text


@pytest.mark.long
def test_the_frame_beside_the_pick(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1, 1)))
    received = receive_batch(sent, tmp_path / "back")
    assert troubles(received) == {"0001_f1.jpg": [FaultKind.NEIGHBOUR]}
    assert "shows A:0011 of the same person" in received.held[0].wrong[0].text


@pytest.mark.long
def test_a_picture_of_nobody_here(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=portrait(9))
    work(tmp_path, 1, "holiday.jpg", portrait(8))
    assert troubles(receive_batch(sent, tmp_path / "back")) == {
        "0001_f1.jpg": [FaultKind.OTHER],
        "holiday.jpg": [FaultKind.STRANGER],
    }


def test_a_strange_name_with_a_known_picture_is_a_hint_and_no_name(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 2, "final.jpg")
    received = receive_batch(sent, tmp_path / "back")
    assert troubles(received) == {"final.jpg": [FaultKind.STRANGER]}
    assert "it shows A:0020" in received.held[0].wrong[0].text
    accept(sent, ["f3"])
    assert (sent.folder / "retouched" / "0002_f3.jpg").is_file()


@pytest.mark.long
def test_unchanged_under_another_format(sent: Shoot, tmp_path: Path) -> None:
    (tmp_path / "back" / "0001_f1.jpg").write_bytes((tmp_path / "batch" / "0001_f1.jpg").read_bytes())
    work(tmp_path, 2, "0002_f3.tif", Image.open(tmp_path / "batch" / "0002_f3.jpg"))
    assert troubles(receive_batch(sent, tmp_path / "back")) == {
        "0001_f1.jpg": [FaultKind.UNCHANGED],
        "0002_f3.tif": [FaultKind.UNCHANGED],
    }


@pytest.mark.long
def test_two_files_for_one_pick(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1)
    work(tmp_path, 1, "0001_f1 (1).jpg", quality=80)
    first = work(tmp_path, 2)
    (tmp_path / "back" / "0002_f3 copy.jpg").write_bytes(first.read_bytes())
    received = receive_batch(sent, tmp_path / "back")
    assert [one.out.frame for one, _ in received.accepted if one.out] == [3]
    assert troubles(received) == {"0001_f1 (1).jpg": [FaultKind.DOUBLED], "0001_f1.jpg": [FaultKind.DOUBLED]}
    assert len(received.repeated) == 1
    with pytest.raises(Problem, match="2 files wait"):
        accept(sent, ["f1"])
    accept(sent, ["f1"], "the sharper one", tmp_path / "back" / "0001_f1.jpg")


def test_files_that_are_no_pictures(sent: Shoot, tmp_path: Path) -> None:
    back = tmp_path / "back"
    (back / "0001_f1.jpg").write_text("sorry, tomorrow", encoding="utf-8")
    whole = work(tmp_path, 2).read_bytes()
    (back / "0002_f3.jpg").write_bytes(whole[: len(whole) // 2])
    (back / "0003_f5.tif").write_bytes(b"")
    tifffile.imwrite(back / "0003_f5-float.tif", np.zeros((8, 8, 3), np.float32), photometric="rgb")
    tifffile.imwrite(back / "0003_f5-grey.tif", np.zeros((8, 8), np.float32))
    (back / "readme.txt").write_text("hello", encoding="utf-8")
    (back / "broken.jpg").symlink_to(back / "nowhere")
    received = receive_batch(sent, back)
    assert not received.accepted
    assert set(troubles(received)) == {path.name for path in back.iterdir()}
    assert {tuple(found) for found in troubles(received).values()} == {(FaultKind.UNREADABLE,)}


@pytest.mark.long
def test_too_small(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1)).reduce(2))
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.SMALL]}


@pytest.mark.long
def test_a_crop_is_not_too_small(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1)).crop((0, 60, 640, 860)))
    ((one, _),) = receive_batch(sent, tmp_path / "back").accepted
    assert [told for told in one.remarks if told.startswith("a crop: 83%")]


def in_cmyk(file: Path, picture: Image.Image) -> None:
    picture.convert("CMYK").save(file)


def deep(file: Path, picture: Image.Image) -> None:
    tifffile.imwrite(file.with_suffix(".tif"), np.asarray(picture).astype(np.uint16) * 257, photometric="rgb")


def deep_in_planes(file: Path, picture: Image.Image) -> None:
    planes = np.moveaxis(np.asarray(picture).astype(np.uint16) * 256 + 77, -1, 0)
    tifffile.imwrite(file.with_suffix(".tif"), planes, photometric="rgb", planarconfig="separate")


def turned_by_tag(file: Path, picture: Image.Image) -> None:
    tags = Image.Exif()
    tags[0x0112] = 6
    picture.transpose(Image.Transpose.ROTATE_90).save(file, exif=tags, quality=95)


def with_profile(file: Path, picture: Image.Image) -> None:
    picture.save(
        file, quality=95, icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    )


def adobe_rgb(file: Path, picture: Image.Image) -> None:
    """As cameras tell it: an uncalibrated colour space and the DCF name of the optional one (CIPA DC-008)."""
    tags = Image.Exif()
    tags.get_ifd(0x8769)[0xA001] = 0xFFFF
    tags.get_ifd(0xA005)[1] = "R03"
    tags.get_ifd(0x8769)[0xA005] = dict(tags.get_ifd(0xA005))
    picture.save(file, quality=95, exif=tags)


@pytest.mark.long
@pytest.mark.parametrize(
    ("save", "told"),
    [
        (deep, "16 bits a colour, of which finished files keep 8"),
        (deep_in_planes, "16 bits a colour, of which finished files keep 8"),
        (turned_by_tag, "turned by its tag"),
        (adobe_rgb, "colours in Adobe RGB"),
        (lambda file, picture: picture.save(file), "no colour profile: taken as sRGB"),
    ],
)
def test_what_is_out_of_the_ordinary_is_told(
    sent: Shoot, tmp_path: Path, save: Callable[[Path, Image.Image], None], told: str
) -> None:
    save(tmp_path / "back" / "0001_f1.jpg", retouched(portrait(1)))
    ((one, _),) = receive_batch(sent, tmp_path / "back").accepted
    assert told in one.remarks


@pytest.mark.long
def test_srgb_is_not_told(sent: Shoot, tmp_path: Path) -> None:
    with_profile(tmp_path / "back" / "0001_f1.jpg", retouched(portrait(1)))
    ((one, _),) = receive_batch(sent, tmp_path / "back").accepted
    assert one.remarks == ()


@pytest.mark.long
def test_cmyk_waits_for_a_decision(sent: Shoot, tmp_path: Path) -> None:
    in_cmyk(tmp_path / "back" / "0001_f1.jpg", retouched(portrait(1)))
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.CMYK]}


@pytest.mark.long
def test_a_picture_on_its_side(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1)).transpose(Image.Transpose.ROTATE_90))
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.SIDEWAYS]}


@pytest.mark.long
def test_done_again_it_is_a_second_version(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1)
    receive_batch(sent, tmp_path / "back")
    again(sent, ["f1"], "too smooth", "desk")
    received = receive_batch(sent, tmp_path / "back")
    assert troubles(received) == {"0001_f1.jpg": [FaultKind.REFUSED_BEFORE]}
    work(tmp_path, 1, quality=90)
    ((one, kept),) = receive_batch(sent, tmp_path / "back").accepted
    assert (one.out and one.out.version, kept) == (2, "retouched/0001_f1-v2.jpg")
    with sent.reading() as session:
        back = read_events(session, [EventKind.SENT_BACK, EventKind.RECEIVED])
    assert [(event.kind.value, event.details["version"]) for event in back] == [
        ("received", 1),
        ("sent back", 1),
        ("received", 2),
    ]


@pytest.mark.long
def test_what_was_refused_before_it_was_accepted_does_not_come_in_again(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1)).reduce(2))
    receive_batch(sent, tmp_path / "back")
    again(sent, ["f1"], "in full size, please")
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.REFUSED_BEFORE]}
    with pytest.raises(Problem, match="No returned file waits"):
        accept(sent, ["f1"])


def test_accepted_by_hand_after_all(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1, picture=retouched(portrait(1)).reduce(2))
    receive_batch(sent, tmp_path / "back")
    (decided,) = accept(sent, ["f1"], "large enough for a badge")
    assert decided.file == "retouched/0001_f1.jpg"
    with sent.reading() as session:
        (event,) = read_events(session, [EventKind.RECEIVED])
    assert event.details["reason"] == "large enough for a badge"


def test_a_file_that_changed_meanwhile_is_not_accepted_by_hand(sent: Shoot, tmp_path: Path) -> None:
    file = work(tmp_path, 1, picture=retouched(portrait(1)).reduce(2))
    receive_batch(sent, tmp_path / "back")
    file.write_bytes(b"something else")
    with pytest.raises(Problem, match="changed since"):
        accept(sent, ["f1"])


@pytest.mark.long
@pytest.mark.parametrize("reason", ["", "  "])
def test_doing_it_again_needs_a_reason(sent: Shoot, tmp_path: Path, reason: str) -> None:
    work(tmp_path, 1)
    receive_batch(sent, tmp_path / "back")
    with pytest.raises(Problem, match="Why"):
        again(sent, ["f1"], reason)


def test_nothing_to_decide(sent: Shoot) -> None:
    with pytest.raises(Problem, match="Nothing has come back"):
        again(sent, ["f1"], "why not")
    with pytest.raises(Problem, match="No returned file waits"):
        accept(sent, ["f1"])
    with pytest.raises(Problem, match="did not go out"):
        accept(sent, ["f2"])


@pytest.mark.long
def test_some_of_those_that_are_right_wait_for_a_look(sent: Shoot, tmp_path: Path) -> None:
    for number in (1, 2, 3):
        work(tmp_path, number)
    received = receive_batch(sent, tmp_path / "back", spot=40)
    assert len(received.accepted) == 1
    assert set(map(tuple, troubles(received).values())) == {(FaultKind.SPOT,)}
    accept(sent, [f"f{one.out.frame}" for one in received.held if one.out])
    with sent.reading() as session:
        assert len(read_events(session, [EventKind.RECEIVED])) == 3


def test_a_frame_that_is_somebody_elses_by_now(sent: Shoot, tmp_path: Path) -> None:
    give_frames(sent, [1], 2)
    work(tmp_path, 1)
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.RENAMED]}


@pytest.mark.long
def test_only_the_batch_that_is_named(sent: Shoot, tmp_path: Path) -> None:
    pick(sent, 1, [1, 2])
    send_batch(sent, tmp_path / "second", BatchOrder(retoucher="Pass", named=False))
    work(tmp_path, 1)
    received = receive_batch(sent, tmp_path / "back", "batch-2")
    assert not received.accepted
    assert [out.frame for out in received.missing] == [2]
    with pytest.raises(Problem, match="no batch 'batch-9'"):
        receive_batch(sent, tmp_path / "back", "batch-9")


@pytest.mark.long
def test_a_batch_retouched_in_its_own_folder(sent: Shoot, tmp_path: Path) -> None:
    file = tmp_path / "batch" / "0001_f1.jpg"
    data = io.BytesIO()
    retouched(Image.open(file)).save(data, "JPEG", quality=95)
    file.write_bytes(data.getvalue())
    received = receive_batch(sent, tmp_path / "batch")
    assert len(received.accepted) == 1
    assert set(map(tuple, troubles(received).values())) == {(FaultKind.UNCHANGED,)}


def test_no_folder_and_no_batch(shoot: Shoot, tmp_path: Path) -> None:
    with pytest.raises(Problem, match="not a folder"):
        receive_batch(shoot, tmp_path / "nowhere")
    with pytest.raises(Problem, match="No batch was sent"):
        receive_batch(shoot, tmp_path)


@pytest.mark.long
def test_another_file_for_what_is_back_already(sent: Shoot, tmp_path: Path) -> None:
    work(tmp_path, 1)
    receive_batch(sent, tmp_path / "back")
    work(tmp_path, 1, quality=80)
    assert troubles(receive_batch(sent, tmp_path / "back")) == {"0001_f1.jpg": [FaultKind.BACK_ALREADY]}
    again(sent, ["f1"], "the newer one is better")
    ((one, _),) = receive_batch(sent, tmp_path / "back").accepted
    assert one.out is not None
    assert one.out.version == 2


def test_what_is_no_picture_or_somebody_elses_is_not_accepted_by_hand(sent: Shoot, tmp_path: Path) -> None:
    (tmp_path / "note.jpg").write_text("sorry", encoding="utf-8")
    with pytest.raises(Problem, match="not a JPEG"):
        accept(sent, ["f1"], "why not", tmp_path / "note.jpg")
    give_frames(sent, [1], 2)
    with pytest.raises(Problem, match="not under the name"):
        accept(sent, ["f1"], "why not", work(tmp_path, 1))
