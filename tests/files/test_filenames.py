"""File names for Windows, macOS and Linux."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pathvalidate import is_valid_filename

from onsite.files.file_name_pattern import FIELDS, parse_pattern
from onsite.files.file_names import UsedNames, comparable_name, folder_name, name_within_limit, safe_name

PATTERN = parse_pattern("{family}_{given}_{group}_{sequence:04}")
ANY = st.text(max_size=300)


def name_of(
    family: str, given: str = "", group: str = "", sequence: int | None = 7, ascii_only: bool = False
) -> str:
    texts = dict.fromkeys(FIELDS, "") | {"family": family, "given": given, "group": group}
    values: dict[str, str | int | None] = {
        field: safe_name(text, ascii_only) for field, text in texts.items()
    }
    return name_within_limit(values | {"sequence": sequence, "pick": 1, "frame": 1}, PATTERN.fill)


@pytest.mark.parametrize(
    ("family", "given", "name"),
    [
        ("Horvat", "Ana", "Horvat_Ana_0007"),
        ("../../etc/passwd", "Ana", "etc-passwd_Ana_0007"),
        ("C:\\Windows", "", "C--Windows_0007"),
        ('a<b>c:d"e|f?g*h%', "", "a-b-c-d-e-f-g-h_0007"),
        ("line\nbreak\ttab\0nul", "", "line break tab-nul_0007"),
        ("=1+1", "", "1+1_0007"),
        ("-rf", "", "rf_0007"),
        (".hidden", "", "hidden_0007"),
        ("\u202egnp.exe", "", "gnp.exe_0007"),
        ("O’Malloran", "Siobhán", "O’Malloran_Siobhán_0007"),
        ("Å", "e\u0301", "Å_é_0007"),
    ],
)
def test_nothing_in_a_name_is_obeyed(family: str, given: str, name: str) -> None:
    assert name_of(family, given) == name


@pytest.mark.parametrize(
    "reserved", ["CON", "nul", "Com1", "LPT9", "aux", "prn", "con.jpg", "NUL.tar.gz", "COM¹"]
)
def test_names_of_devices_are_not_used(reserved: str) -> None:
    name = name_of(reserved, sequence=None)
    assert name.split(".")[0].lower() != reserved.split(".")[0].lower()
    assert name.lower().startswith(reserved[:3].lower())


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Παπασταύρου", "Papastayroy"),
        ("أمينة", "Mynh"),
        ("O’Malloran", "O'Malloran"),
        ("Nováčková", "Novackova"),
        ("山田", "ShanTian"),
        ("Straße 😀", "Strasse -grinning-"),
    ],
)
def test_ascii_on_request(text: str, plain: str) -> None:
    assert safe_name(text, ascii_only=True) == safe_name(plain)


@given(ANY, ANY, ANY, st.integers(1, 99999), st.booleans())
def test_every_name_is_taken_everywhere(
    family: str, given_name: str, group: str, sequence: int, ascii_only: bool
) -> None:
    name = name_of(family, given_name, group, sequence, ascii_only)
    assert name.endswith(f"{sequence:04}")
    assert is_valid_filename(f"{name}.jpg", platform="universal", max_len=255)
    for form in ("NFC", "NFD"):
        as_stored = unicodedata.normalize(form, f"{name}_99.jpg")  # type: ignore[arg-type]
        assert len(as_stored.encode()) <= 255
        assert len(as_stored.encode("utf-16-le")) // 2 <= 255
    assert not ascii_only or name.isascii()
    assert name[0] not in ".-=+@~ "


@given(ANY)
def test_every_folder_is_taken_everywhere(text: str) -> None:
    name = folder_name(text)
    assert name == "" or is_valid_filename(name, platform="universal", max_len=255)
    assert len(unicodedata.normalize("NFD", name).encode()) <= 255


def test_long_names_keep_their_number() -> None:
    name = name_of("Ж" * 300, "Ελένη", "Altos")
    assert name.endswith("_Ελένη_Altos_0007")
    assert name.startswith("ЖЖЖ")


@pytest.mark.parametrize(
    ("one", "other"),
    [("Ana", "ANA"), ("é", "e\u0301"), ("Å", "\u212b"), ("straße", "STRASSE"), ("Ω", "\u2126")],
)
def test_names_that_are_one_file_elsewhere_clash(one: str, other: str) -> None:
    assert comparable_name(one) == comparable_name(other)
    taken = UsedNames([f"{one}.jpg"])
    assert taken.unused_name(other, ".jpg") == f"{other}_2.jpg"
    assert taken.unused_name(other, ".jpg") == f"{other}_3.jpg"


@given(st.lists(st.sampled_from(["a", "A", "a_2", "A_2", "b"]), max_size=12))
def test_no_name_is_given_twice(wishes: list[str]) -> None:
    taken = UsedNames()
    given_names = [comparable_name(taken.unused_name(wish, ".jpg")) for wish in wishes]
    assert len(set(given_names)) == len(given_names)
