"""Which encoding the bytes of a list are in."""

import shutil
import subprocess

import pytest

from onsite.roster.list_encoding import decode, oddness

LIST = (
    "Name;Stimme\nJörg Müller;Baß\nJosé Núñez;Ténor\nÉlodie Lefèvre;Alt\n"
    "Zoë Ångström;Sopran\nLíam O’Neil;Alt\n"
)

ALONE = [
    "Jörg Müller", "José Núñez", "Élodie Lefèvre", "Zoë Ångström", "Ríos Díaz", "Líam O’Neil", "Ève",
    "Álvaro Gómez", "Françoise", "Benoît", "Raúl", "Weiß", "Jesús", "NOËL", "MÜLLER", "Åse Øby",
    "João Conceição", "Íñigo Muñoz", "Günther Schäfer", "D’Angelo Conté", "Martínez",
]  # fmt: skip


@pytest.mark.parametrize(
    ("codec", "mark", "encoding"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", b"\xef\xbb\xbf", "UTF-8"),
        ("utf-16-le", b"\xff\xfe", "UTF-16 LE"),
        ("utf-16-be", b"\xfe\xff", "UTF-16 BE"),
        ("utf-16-le", b"", "UTF-16 LE"),
        ("utf-16-be", b"", "UTF-16 BE"),
    ],
)
def test_unicode_is_certain(codec: str, mark: bytes, encoding: str) -> None:
    """Byte order marks: The Unicode Standard, section 23.8."""
    found = decode(mark + LIST.encode(codec))
    assert found is not None
    assert (found.text, found.encoding, found.certain) == (LIST, encoding, True)


@pytest.mark.parametrize(("codec", "encoding"), [("cp1252", "Windows-1252"), ("mac_roman", "Mac Roman")])
def test_old_encodings_are_told_apart_by_their_words(codec: str, encoding: str) -> None:
    found = decode(LIST.encode(codec))
    assert found is not None
    assert (found.text, found.encoding, found.certain) == (LIST, encoding, False)


@pytest.mark.parametrize("codec", ["cp1252", "mac_roman"])
@pytest.mark.parametrize("name", ALONE)
def test_one_accented_name_is_enough(name: str, codec: str) -> None:
    found = decode(f"Name\n{name}\n".encode(codec))
    assert found is not None
    assert found.text == f"Name\n{name}\n"


@pytest.mark.parametrize(
    ("charset", "encoding"), [("WINDOWS-1252", "Windows-1252"), ("MACINTOSH", "Mac Roman")]
)
def test_bytes_made_by_iconv(charset: str, encoding: str) -> None:
    """iconv has tables of its own for both encodings."""
    if not shutil.which("iconv"):
        pytest.skip("iconv is not installed")
    done = subprocess.run(
        ["iconv", "-f", "UTF-8", "-t", charset], input=LIST.encode(), capture_output=True, check=True
    )
    found = decode(done.stdout)
    assert found is not None
    assert (found.text, found.encoding) == (LIST, encoding)


@pytest.mark.parametrize(
    ("codec", "text"),
    [
        ("cp1250", "Łukasz Wąsik, Jiří Kopřiva, Małgorzata"),
        ("cp1251", "Иван Петров, Юлия Смирнова"),
        ("cp1253", "Γιάννης Παπάς, Ελένη"),
        ("cp932", "名前\n山田太郎\n佐藤花子\n"),
    ],
)
def test_other_old_encodings(codec: str, text: str) -> None:
    found = decode(text.encode(codec))
    assert found is not None
    assert (found.text, found.certain) == (text, False)


@pytest.mark.parametrize(
    "data", [bytes(range(256)), b"\0\1\2\3" * 50, b"MZ\x90\0\3\0\0\0\4", b"\x01\x02\x03" * 20]
)
def test_binary_is_no_text(data: bytes) -> None:
    assert decode(data) is None


def test_an_escape_code_in_a_name_is_still_text() -> None:
    found = decode(b"Name\nAnn \x1b[31mLee\n")
    assert found is not None
    assert found.text == "Name\nAnn \x1b[31mLee\n"


def test_a_letter_gone_wrong_is_odd() -> None:
    assert oddness("José") == 0
    assert oddness("JosŽ") > 1
    assert oddness("JosÈ") > 1
    assert oddness("M¸ller") > 1
