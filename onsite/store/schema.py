"""The tables. The table `event` only grows; stages, counts and undo are derived from it.

`undone`, `person_state` and `card_holder` are projections of it (`event_projections`). `verdict` and `timing`
hold the outcome of the last match, so that screens need not match again; they may be emptied at any time.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, TypeVar

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Integer,
    LargeBinary,
    UniqueConstraint,
)
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field, SQLModel

if TYPE_CHECKING:
    from sqlalchemy.orm import Mapped as Stored
else:
    # SQLModel reads the annotations itself and knows nothing of Mapped; with it `Person.id` is a typed column
    # and `person.id` an int, for the type checker too.
    Stored = Annotated[TypeVar("T"), "a column"]


class UtcTime(TypeDecorator[datetime]):
    """A moment: aware in Python, UTC without offset in the database, so that every engine sorts it alike."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        return None if value is None else value.replace(tzinfo=UTC)


def _utc_column() -> Any:
    return Field(sa_column=Column(UtcTime(), nullable=False))


def _optional_utc_column() -> Any:
    return Field(default=None, sa_column=Column(UtcTime(), nullable=True))


def _key_of(column: str) -> Any:
    """A primary key that is the key of another table's row."""
    return Field(sa_column=Column(Integer, ForeignKey(column), primary_key=True, autoincrement=False))


def _json_column(default: type) -> Any:
    return Field(default_factory=default, sa_column=Column(JSON, nullable=False))


class Meta(SQLModel, table=True):
    """Facts about the database itself.

    Keys: `schema_version`; `shoot_mark`; `matched_event`; `consent_asked`, once the client's list has answers
    about consent; `list decisions`, how that list is read; `tickets_made`, the newest event when tickets were
    made for everybody; `watched <station>`, the folder a station watches.
    """

    key: Stored[str] = Field(primary_key=True)
    value: Stored[str]


class Person(SQLModel, table=True):
    """A person on the roster, as the client's list has them now. Earlier values are in the events."""

    id: Stored[int] = Field(default=None, primary_key=True)
    key: Stored[str] = Field(unique=True)
    """The client's key, or a generated one if the list has none (`own_key`)."""
    own_key: Stored[bool] = Field(default=False)
    walk_in: Stored[bool] = Field(default=False)
    name: Stored[str]
    given: Stored[str] = Field(default="")
    family: Stored[str] = Field(default="")
    group: Stored[str] = Field(default="", sa_column_kwargs={"name": "group_name"})
    role: Stored[str] = Field(default="")
    email: Stored[str] = Field(default="")
    phone: Stored[str] = Field(default="")
    slot: Stored[str] = Field(default="")
    consent: Stored[str] = Field(default="")
    note: Stored[str] = Field(default="")
    spoken: Stored[str] = Field(default="", sa_column_kwargs={"server_default": ""})
    """The pronunciation of the name, in plain letters, for whoever calls it out."""
    language: Stored[str] = Field(default="", sa_column_kwargs={"server_default": ""})
    """The language of messages to them, as the client's list has it; see `onsite.messages.languages`."""
    extra: Stored[dict[str, str]] = _json_column(dict)
    code: Stored[str] = Field(unique=True)


class DeckCard(SQLModel, table=True):
    """A deck card. Its assignments to people are in the events."""

    __tablename__: ClassVar[str] = "card"
    id: Stored[int] = Field(default=None, primary_key=True)
    number: Stored[int] = Field(unique=True)
    code: Stored[str] = Field(unique=True)


class SequenceNumber(SQLModel, table=True):
    """A sequence number, assigned at check-in: never to a second person, and kept through an undo."""

    __tablename__: ClassVar[str] = "sequence_number"

    number: Stored[int] = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    person_id: Stored[int] = Field(foreign_key="person.id", unique=True)


class Camera(SQLModel, table=True):
    """A camera body, identified by serial number, else by the label or model (`identity`)."""

    id: Stored[int] = Field(default=None, primary_key=True)
    label: Stored[str] = Field(unique=True)
    identity: Stored[str] = Field(unique=True)
    serial: Stored[str] = Field(default="")
    model: Stored[str] = Field(default="")


class Frame(SQLModel, table=True):
    """One exposure. `taken` is the local time that the camera wrote, right or wrong."""

    id: Stored[int] = Field(default=None, primary_key=True)
    camera_id: Stored[int] = Field(foreign_key="camera.id", index=True)
    counter: Stored[int | None] = Field(default=None)
    name: Stored[str] = Field(index=True)
    taken: Stored[datetime | None] = Field(default=None, sa_column=Column(DateTime, nullable=True))
    utc_offset: Stored[int | None] = Field(default=None)
    """Minutes east of UTC, if the camera wrote them."""
    source: Stored[str]
    width: Stored[int] = Field(default=0)
    height: Stored[int] = Field(default=0)
    trouble: Stored[str] = Field(default="")
    """Why the picture could not be examined, or empty."""
    look: Stored[bytes | None] = Field(default=None, sa_column=Column(LargeBinary, nullable=True))
    codes: Stored[int | None] = Field(default=None)
    """How many slate codes the shoot had when this frame was last searched for slates.

    None if an earlier version searched it, or it was not searched.
    """


class MeasureRow(SQLModel, table=True):
    """Measurements of a frame's picture (units: `frames/frame_measures.py`); None where not measurable."""

    __tablename__: ClassVar[str] = "measure"
    frame_id: Stored[int] = _key_of("frame.id")
    brightness: Stored[float | None] = Field(default=None)
    sharpness: Stored[float | None] = Field(default=None)
    backdrop_l: Stored[float | None] = Field(default=None)
    backdrop_a: Stored[float | None] = Field(default=None)
    backdrop_b: Stored[float | None] = Field(default=None)


class File(SQLModel, table=True):
    """One file's content. A frame may have several: raw and JPEG of one exposure."""

    id: Stored[int] = Field(default=None, primary_key=True)
    frame_id: Stored[int] = Field(foreign_key="frame.id", index=True)
    name: Stored[str]
    kind: Stored[str]
    size: Stored[int] = Field(sa_column=Column(BigInteger, nullable=False))
    sha256: Stored[str] = Field(unique=True)


class FilePlace(SQLModel, table=True):
    """A path at which a file's content was found or to which it was copied.

    `head` is the SHA-256 of the first 64 KiB: with size and modification time it shows, without reading it
    all, that the file is unchanged.
    """

    __tablename__: ClassVar[str] = "place"
    __table_args__ = (UniqueConstraint("path", "file_id"),)

    id: Stored[int] = Field(default=None, primary_key=True)
    file_id: Stored[int] = Field(foreign_key="file.id", index=True)
    path: Stored[str] = Field(index=True)
    size: Stored[int] = Field(sa_column=Column(BigInteger, nullable=False))
    mtime_ns: Stored[int] = Field(sa_column=Column(BigInteger, nullable=False))
    head: Stored[str]
    is_copy: Stored[bool] = Field(default=False)


class SymbolReading(SQLModel, table=True):
    """A QR symbol seen in a frame."""

    __tablename__: ClassVar[str] = "reading"
    id: Stored[int] = Field(default=None, primary_key=True)
    frame_id: Stored[int] = Field(foreign_key="frame.id", index=True)
    text: Stored[str | None] = Field(default=None)
    """None if the symbol could not be read."""
    turned: Stored[int]
    """Degrees clockwise from upright, in the picture as displayed."""
    share: Stored[float]
    """Side of the symbol over the short side of the picture."""
    by: Stored[str | None] = Field(default=None, sa_column_kwargs={"name": "read_by"})
    """How it was read (`slates.reader.seen_symbol.ReadBy`); None if unread, or from an earlier version."""
    margin: Stored[float | None] = Field(default=None)
    """Margin over the next best code, in standard deviations, where codes were compared."""


class EventRow(SQLModel, table=True):
    """An event. Rows are added, never changed."""

    __tablename__: ClassVar[str] = "event"
    id: Stored[int] = Field(default=None, primary_key=True)
    at: Stored[datetime] = _utc_column()
    recorded: Stored[datetime] = _utc_column()
    station: Stored[str] = Field(default="")
    kind: Stored[str] = Field(index=True)
    person_id: Stored[int | None] = Field(default=None, foreign_key="person.id", index=True)
    frame_id: Stored[int | None] = Field(default=None, foreign_key="frame.id", index=True)
    card_id: Stored[int | None] = Field(default=None, foreign_key="card.id", index=True)
    details: Stored[dict[str, Any]] = _json_column(dict)


class UndoneEvent(SQLModel, table=True):
    """An event that was undone and no longer counts."""

    __tablename__: ClassVar[str] = "undone"
    event_id: Stored[int] = _key_of("event.id")


class PersonState(SQLModel, table=True):
    """What the events that count say about a person. People without events have no row."""

    __tablename__: ClassVar[str] = "person_state"
    person_id: Stored[int] = _key_of("person.id")
    changed: Stored[int]
    """The newest event that may have changed anything that is shown of the person."""
    withdrawn: Stored[bool] = Field(default=False)
    """No longer on the client's list."""
    removed: Stored[bool] = Field(default=False)
    """A walk-in who was taken off again."""
    arrived: Stored[datetime | None] = _optional_utc_column()
    """When they first arrived."""
    station: Stored[str] = Field(default="")
    """Where."""
    arrival: Stored[int | None] = Field(default=None)
    """The event of it."""
    shown: Stored[datetime | None] = _optional_utc_column()
    """When their slate was last shown."""
    confirmed: Stored[str | None] = Field(default=None)
    """The name whose spelling was last confirmed."""


class CardHolder(SQLModel, table=True):
    """The person to whom a deck card was assigned last."""

    __tablename__: ClassVar[str] = "card_holder"
    card_id: Stored[int] = _key_of("card.id")
    person_id: Stored[int] = Field(foreign_key="person.id")
    since: Stored[datetime] = _utc_column()
    event_id: Stored[int]
    """The event of the assignment."""


class VerdictRow(SQLModel, table=True):
    """A frame's verdict from the last match; see the module."""

    __tablename__: ClassVar[str] = "verdict"
    frame_id: Stored[int] = _key_of("frame.id")
    kind: Stored[str]
    person_id: Stored[int | None] = Field(default=None, foreign_key="person.id", index=True)
    how: Stored[str] = Field(default="")
    doubt: Stored[str] = Field(default="")
    run: Stored[int | None] = Field(default=None)
    suggestions: Stored[list[dict[str, Any]]] = _json_column(list)
    certainty: Stored[float | None] = Field(default=None)
    """Probability of the name; None where nothing is named."""


class ClockCorrectionRow(SQLModel, table=True):
    """A camera's clock error from a frame on, in shooting order, as the last match estimated it.

    A correct clock has no row. See the module, and `matching.clock_offset.ClockOffset` for
    `drift` and `at`.
    """

    __tablename__: ClassVar[str] = "timing"
    first_frame: Stored[int] = _key_of("frame.id")
    correction: Stored[float]
    """Seconds to add to the camera's times."""
    drift: Stored[float]
    at: Stored[float]
    set_forward: Stored[float]
    """By how many seconds the clock was set forward right before that frame; else 0."""
