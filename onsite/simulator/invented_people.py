"""The invented people of the festival, with given and family names of many languages combined at random."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from onsite.files.program_resources import shipped_folder

ROSTER = "choirs.csv"
"""The shipped list, in the folder `demo_roster`."""


@dataclass(frozen=True, slots=True)
class InventedPerson:
    """A person as a client's list has them. `slot` is a local time such as `09:15`, or empty."""

    key: str
    given: str
    family: str
    group: str
    role: str
    email: str
    slot: str
    consent: str
    note: str

    @property
    def name(self) -> str:
        """Given name, then family name, either of which may be empty."""
        return f"{self.given} {self.family}".strip()


def invent_people(number: int, seed: int) -> list[InventedPerson]:
    """`number` people with unique keys: those of the shipped list first, then generated ones.

    The same number and seed give the same people, and a larger number begins with the people of a smaller
    one.
    """
    listed = shipped_guests()[:number]
    return listed + list(islice(_more(listed, seed), number - len(listed)))


def invent_walk_in(number: int, rng: random.Random, taken: set[tuple[str, str]]) -> InventedPerson:
    """A person who is on no list. The key, such as `walk-in-1`, is not the one that the door gives them."""
    return _fresh(f"walk-in-{number}", "", rng, taken)


def shipped_guests() -> list[InventedPerson]:
    """The people of the shipped list, unchanged."""
    with (shipped_folder("demo_roster") / ROSTER).open(encoding="utf-8", newline="") as lines:
        return [InventedPerson(**row) for row in csv.DictReader(lines, delimiter=";")]


def _more(listed: list[InventedPerson], seed: int) -> Iterator[InventedPerson]:
    rng = random.Random(f"people/{seed}")
    taken = {(guest.name, guest.group) for guest in listed}
    number = len(listed)
    while True:
        number += 1
        yield _fresh(f"CH-{number:03}", _slot(number), rng, taken)


def _fresh(key: str, slot: str, rng: random.Random, taken: set[tuple[str, str]]) -> InventedPerson:
    """A person whose name and group are not in `taken`; adds them to it."""
    while True:
        language = rng.choice(LANGUAGES)
        given = rng.choice(language.given)
        if rng.random() < 0.25:
            second = rng.choice(language.given)
            given = given if second == given else f"{given} {second}"
        family = rng.choice(language.family)
        group = rng.choice(list(GROUPS))
        if (f"{given} {family}", group) not in taken:
            break
    taken.add((f"{given} {family}", group))
    role = rng.choice(GROUPS[group])
    consent = "yes" if rng.random() < 0.95 else "no"
    note = "" if consent == "yes" else "not to be published"
    return InventedPerson(key, given, family, group, role, f"{key.lower()}@example.org", slot, consent, note)


def _slot(number: int) -> str:
    """An arrival slot: ten people in every ten minutes for eight hours from nine o'clock, then none."""
    minutes = 9 * 60 + (number - 1) // 10 * 10
    return f"{minutes // 60:02}:{minutes % 60:02}" if minutes < 17 * 60 else ""


@dataclass(frozen=True, slots=True)
class Language:
    """Given and family names of one language."""

    given: tuple[str, ...]
    family: tuple[str, ...]


def _names(given: str, family: str) -> Language:
    return Language(tuple(given.split()), tuple(name.replace("_", " ") for name in family.split()))


LANGUAGES = (
    _names(
        "Alwin Birgit Detlef Elfriede Gerlinde Heiko Imke Jörg Käthe Lutz Mechthild Nele Rüdiger Sönke",
        "Achterberg Blümlein Drosselhuber Eichgrün Fährmann Gänsheimer Kürbis Lößnitz Rübsam Weidenhöfer",
    ),
    _names(
        "Aoife Barnaby Cedric Deirdre Edith Fergus Gwen Hazel Imogen Jarvis Niamh Oonagh Rory Winifred",
        "Ashgrove Birchall Cobblewood Dunmorrow Fairweather-Pym Hollowell MacTavern O'Brannagh Quillfeather",
    ),
    _names(
        "Aurélie Benoît Célestin Delphine Élodie François Gaëlle Hélène Joël Léonie Maëlle Noémie Zéphyrin",
        "Beauchêne Carrérot de_la_Bruyelle d'Aubrécourt Fontvieille Lefèvrier L'Épinette Marchandeau Rivoire",
    ),
    _names(
        "Álvaro Begoña Concepción Dolores Íñigo Jimena Lucía Martín Nuria Óscar Rocío Sebastián Ximena",
        "Azañedo de_la_Fuente_Rosal del_Olmar Gallardón Ibáñez-Luque Peñalosa Quiñonero Ríosalido Zúñigar",
    ),
    _names(
        "Anneke Bram Diederik Femke Gijs Hilde Jelle Liesbeth Maarten Nienke Pieter Roos Sjoerd Truus",
        "van_den_Broekhof van_der_Zandt de_Windt ten_Kateveld Bakkerink Hoogeveld 't_Hofstra Molenwijk",
    ),
    _names(
        "Agnieszka Bogumił Czesław Danuta Elżbieta Grażyna Jarosław Kinga Łucja Małgorzata Paweł Żaneta",
        "Błażejewicz Cieślarz Dąbrowicz Gołębiak Jabłonek Łękawa Miętus Śliwczyk Źródłowski Żurawiec",
    ),
    _names(
        "Anders Birgitta Dagny Eskil Frøydis Gøran Håkon Ingeborg Jørn Kåre Maj-Britt Øystein Sigrún Åke",
        "Ängslund Bjørkvoll Fjällström Grønlid Høgstrand Jónsdóttirsen Lövqvist Nygårdsvold Ødegren",
    ),
    _names(
        "Alžběta Bořivoj Dušan Jiřina Květa Luboš Miloš Naděžda Ondřej Přemysl Růžena Štěpán Věra Zdeněk",
        "Borůvka Černohlávek Dvořáčková Hruškovec Jeřábková Křížalka Řezáčová Šťovíček Tůmovec Žížalková",
    ),
    _names(
        "Ayşe Burak Cemile Doğan Emine Gökçe İlknur Kağan Müge Nuray Özgür Şebnem Tülin Ümit",
        "Akçakoca Bağcıoğlu Çelikbilek Demirağaç Gülşenler İncekara Karagöllü Özdemirel Şahinbaş Uğurtaş",
    ),
    _names(
        "Αγγελική Βασίλης Γεωργία Δήμητρα Ευάγγελος Ζωή Ηλίας Θεοδώρα Ιωάννα Κώστας Μαρίνα Χρήστος",
        "Αλεξιάδης Βλαχογιάννη Γαβριηλάκης Ζαχαράκη Καραβασίλης Λεμονάκη Μαυρίδου Ξενάκος Ρηγοπούλου",
    ),
    _names(
        "Анфиса Богдан Варвара Галина Демьян Євгенія Зоряна Ирина Йосип Лариса Мирослав Наталя Тимофей Юлія",
        "Берёзкин Вишневецька Голубенко Дубравина Журавльов Калиниченко Лебедь Орешко Ярошевич Щукина",
    ),
    _names(
        "أمينة باسم جميلة حسام دينا رانيا زياد سلمى طارق فادي مريم هالة",
        "البستاني الحلواني الخياط الزيتوني السروجي العطار النجار الورداني",
    ),
    _names("אביטל בועז דפנה הדס יונתן כרמית מיכל עומר רחל שירה", "אלמוגי ברקאי גפני לביאן נחלי שקדי"),
    _names("子涵 佳怡 建国 丽华 文博 雅琴 志强 秀兰 海燕 明哲", "陈 黄 李 林 刘 欧阳 孙 王 吴 赵"),
    _names(
        "陽菜 健太 大輔 結衣 翔太 真由美 直樹 美咲 和也",
        "青柳 石橋 上野 大塚 川端 小松 佐伯 竹下 西尾",
    ),
    _names("지우 민서 하준 서연 도윤 수아 예준 은지", "김 박 이 최 정 강 한 윤"),
    _names(
        "An Bảo Châu Dũng Giang Hạnh Khánh Liên Ngọc Phúc Quỳnh Tuấn Uyên Yến",
        "Nguyễn_Đình Trần_Thị Lê_Văn Phạm_Hồng Hoàng_Thu Vũ_Minh Đặng_Xuân Bùi_Thanh",
    ),
    _names(
        "Adaeze Babajide Chidinma Ebele Folasade Kwabena Lindiwe Nomvula Olúṣẹ́gun Sipho Temperance Wanjiru",
        "Adéwálé-Kóláwọlé Chukwuebube Dlaminisi Gyamfuah Kamauthi Mthunzela Ọlátúnjírin Wambuguta",
    ),
    _names(
        "Aditi Bhaskar Chandrika Devendra Gauri Harpreet Ishaan Kavitha Lakshman Nandini Ranjit Vimala",
        "Bhattadeva Chakravartula Gopalamurthy Joshipuri Kulkarnath Raghunandan Subramaniyar Vaidyanandan",
    ),
    _names(
        "Anca Bogdan Cătălina Dragoș Ionuț Mădălina Nicușor Păun Răzvan Ștefania Țintea Viorica",
        "Bălănescu Ciocârlan Drăgulin Făgădar Iancovici Mărgineanț Păltinișan Șerbănaru Țurcanov",
    ),
)

GROUPS = {
    "Harbour Choir": ("Soprano", "Alto", "Tenor", "Bass"),
    "Mountain Chorale": ("Soprano", "Alto", "Tenor", "Bass"),
    "Lantern Singers": ("Soprano", "Alto", "Tenor", "Bass"),
    "Riverside Chorus": ("Soprano", "Alto", "Tenor", "Bass"),
    "Meadow Strings": ("Violin", "Viola", "Cello", "Double bass"),
    "Quarry Winds": ("Flute", "Oboe", "Clarinet", "Bassoon", "Horn", "Trumpet", "Trombone"),
    "Drum Yard": ("Timpani", "Marimba", "Snare drum"),
    "Festival Team": ("Conductor", "Stage manager", "Librarian"),
}
"""The groups of the festival, each with its parts."""
