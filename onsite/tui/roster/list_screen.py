"""The client's list before it is loaded: how each column is understood, and changed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, ClassVar

from rich.text import Text
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Footer, Static

from onsite.core.errors import Problem
from onsite.core.text import listed, plural, shown
from onsite.roster.consent_columns import ConsentQuestion
from onsite.roster.list_column_options import OTHER
from onsite.roster.load_roster import LoadedList, consent_text, load_list
from onsite.roster.name_capitals import Capitals
from onsite.roster.roster_list_preview import ASKED, ListColumn, ListPreview, preview_list
from onsite.tui.background_workers import background_worker
from onsite.tui.commands.command_form import CommandFormScreen
from onsite.tui.commands.palette_command import CommandField, FieldKind
from onsite.tui.roster.column_kinds import ColumnKindScreen, field_words
from onsite.tui.screen_host import ScreenHost
from onsite.tui.widgets.status_line import problem_text
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line

_MAP = re.compile(r"--map ([\w-]+)=(?:'[^']*'|\S+)")


class ListScreen(ModalScreen[str | None]):
    """Enter says what a column holds, for newer versions of the list, too. Ctrl+S loads the list."""

    CSS = """
    ListScreen { background: $ground; color: $ink; layout: vertical; }
    ListScreen > Static { height: auto; padding: 0 1; }
    ListScreen #columns { height: 50%; border-top: heavy $line; padding: 0 1; }
    ListScreen VerticalScroll {
        height: 1fr; padding: 0 1;
        border-top: heavy $line; border-title-color: $ink; border-title-style: bold;
    }
    ListScreen #notices { height: auto; }
    ListScreen #verdict { text-style: bold; }
    ListScreen #verdict.-problem { color: $on-alert; background: $alert; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "kind", "Change column"),  # the list handles the key itself
        Binding("ctrl+s", "load", "Load", priority=True),
        Binding("pageup", "notes(-1)", "Notes", key_display="PgUp PgDn", priority=True),
        Binding("pagedown", "notes(1)", show=False, priority=True),
        Binding("c", "capitals", "Capitals"),
        Binding("t", "totals", "Totals"),
        Binding("s", "sheet", "Sheet"),
        Binding("w", "withdraw", "Withdraw"),
        Binding("escape", "dismiss", "Cancel"),
    ]

    def __init__(self, host: ScreenHost, path: Path) -> None:
        super().__init__()
        self._host = host
        self._path = path
        self._sheet: str | None = None
        self._maps: dict[str, str] = {}
        """Column letter -> the field chosen here."""
        self._asked: dict[str, ConsentQuestion] = {}
        """Column letter -> what is, or was, asked about it."""
        self._capitals = ""
        self._drop_totals = False
        self._withdraw = False
        self._preview: ListPreview | None = None

    def compose(self) -> ComposeResult:
        yield Static(Text(shown(self._path.name), style="bold"), id="head", markup=False)
        yield VirtualList[ListColumn](
            self._line, lambda column: column.letter, empty="reading the list …", id="columns"
        )
        with VerticalScroll(can_focus=False):
            yield Static("", id="notices", markup=False)
        yield Static("", id="verdict", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        self._columns.focus()
        self._read()

    @property
    def _columns(self) -> VirtualList[ListColumn]:
        return self.query_one("#columns", VirtualList)

    # Reading

    @background_worker("Reading the list", exclusive=True)
    def _read(self) -> None:
        maps = [(field, letter) for letter, field in self._maps.items()]
        try:
            preview = preview_list(
                self._host.shoot, self._path, self._sheet, maps, self._capitals, self._drop_totals
            )
        except Problem as problem:
            self.app.call_later(self._refused, problem)
        else:
            self.app.call_later(self._show, preview)

    def _refused(self, problem: Problem) -> None:
        """Close on a file that is no list, with the reason below the mode in front."""
        if self.is_attached:
            self.dismiss(None)
            self._host.show_message(problem)

    # Showing

    def _show(self, preview: ListPreview) -> None:
        if not self.is_attached:
            return
        if preview.loaded is None and self._preview is not None and preview.sheet == self._preview.sheet:
            preview = replace(preview, columns=self._preview.columns)  # as they were understood before
        self._preview = preview
        open_ = preview.loaded.consent_questions if preview.loaded is not None else ()
        self._asked |= {question.column: question for question in open_}
        sheet = f", sheet {preview.sheet}" if preview.sheet else ""
        self.query_one("#head", Static).update(Text(shown(f"{self._path.name}{sheet}"), style="bold"))
        columns = [self._chosen(column) for column in preview.columns]
        asked = next((place for place, column in enumerate(columns) if column.field == ASKED), None)
        self._columns.show(columns, at=asked)
        self._columns.styles.height = min(len(preview.columns) + 1, self.size.height // 2)
        lines = list(self._notices(preview.loaded)) if preview.loaded is not None else []
        self.query_one("#notices", Static).update(Text(shown_lines(lines)))
        self.call_after_refresh(self._say_more)
        self._say(preview.problem or self._question(preview.loaded) or self._doubt(preview.loaded))

    def _say_more(self) -> None:
        """Say above the notes whether there are more than the screen holds."""
        notes = self.query_one(VerticalScroll)
        below = notes.max_scroll_y > notes.scroll_offset.y
        notes.border_title = "Notes: more below, PgDn" if below else "Notes"
        self.refresh_bindings()

    def _chosen(self, column: ListColumn) -> ListColumn:
        field = self._maps.get(column.letter, column.field)
        return ListColumn(column.letter, column.heading, field, column.examples)

    def _line(self, column: ListColumn, width: int, ink: Ink) -> Text:
        style = ink.alert if column.field == ASKED else ink.strong if column.field != OTHER else ink.quiet
        return cells_line(
            width,
            [
                Cell(column.letter, 3, ink.quiet),
                Cell(column.heading, max(width // 4, 12), ink.plain),
                Cell(field_words(column.field), 31, style),
                Cell(" · ".join(column.examples), 0, ink.quiet),
            ],
            ink,
        )

    def _notices(self, loaded: LoadedList) -> Iterator[str]:
        """Who may be published, what is asked, what loading would change, and what was noticed."""
        yield f"Consent: {consent_text(loaded)}"
        for question in loaded.consent_questions:
            yield f"? {question.text}."
            for answer in question.answers:
                yield f"    {answer}"
        yield from self._changes(loaded)
        for notice in sorted(loaded.notices, key=lambda notice: not (notice.may_be_total or notice.left_out)):
            if "--capitals" not in notice.text:
                said = _MAP.sub(_taken_as, notice.text).replace("--drop-totals", "press T")
                said += ". T: keep it" if notice.left_out else ""
                yield f"{f'row {notice.row}: ' if notice.row else ''}{said}"
        capitals = loaded.capitals
        if capitals.changes and capitals.choice != Capitals.SET:
            _, old, new = capitals.changes[0]
            named = plural(len(capitals.changes), "name")
            yield f"Capitals: {named} would be loaded as written ({old}). C: write them as {new}."
        elif capitals.choice == Capitals.SET:
            named = plural(len(capitals.changes), "name")
            yield f"Capitals: {named} set as names are written. C: load them in capitals."
        for question_of_merge in loaded.questions:
            yield f"not settled: {question_of_merge.text}"

    def _changes(self, loaded: LoadedList) -> Iterator[str]:
        """What a newer list changes of consent, and who goes and comes."""
        if not self._host.status_cache.statuses:
            return
        for change in (*loaded.changed, *loaded.restored):
            for field, old, new in change.fields:
                if field == "consent":
                    yield f"consent of {change.entry.name}: {old or 'nothing'} → {new or 'nothing'}."
        for what, names in (
            ("withdrawn", [person.name for person in loaded.withdrawn]),
            ("added", [entry.name for entry in loaded.added]),
        ):
            if names:
                yield f"{what}: {listed(names)}."

    def _question(self, loaded: LoadedList | None) -> Problem | None:
        if loaded is None or not loaded.consent_questions:
            return None
        column = loaded.consent_questions[0].column
        return Problem(f"Does column {column} say who may be published?", "Enter: answer.")

    def _doubt(self, loaded: LoadedList | None) -> Problem | str:
        if loaded is None:
            return ""
        if loaded.doubt and not self._withdraw:
            return Problem(f"{loaded.doubt}.", "W: withdraw them all the same.")
        return f"Ctrl+S loads it: {_counts(loaded)}."

    def _say(self, said: Problem | str) -> None:
        line = self.query_one("#verdict", Static)
        line.set_class(isinstance(said, Problem), "-problem")
        line.update(problem_text(said) if isinstance(said, Problem) else Text(shown(said)))

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Keys for what this list does not have are not offered."""
        preview = self._preview
        loaded = preview.loaded if preview is not None else None
        if action == "notes":
            return self.query_one(VerticalScroll).max_scroll_y > 0
        if action == "capitals":
            return loaded is not None and bool(loaded.capitals.changes)
        if action == "totals":
            return self._drop_totals or (
                loaded is not None and any(n.may_be_total or n.left_out for n in loaded.notices)
            )
        if action == "sheet":
            return preview is not None and len(preview.sheets) > 1
        if action == "withdraw":
            return loaded is not None and bool(loaded.doubt) and not self._withdraw
        return True

    def action_kind(self) -> None:
        """Say what the column under the cursor holds."""
        column = self._columns.item
        if column is not None and self._preview is not None:
            found = self._chosen(column)
            self.app.push_screen(
                ColumnKindScreen(found, self._asked.get(column.letter)),
                lambda field: self._taken(found, field),
            )

    def on_virtual_list_selected(self, _: VirtualList.Selected[ListColumn]) -> None:
        self.action_kind()

    def _taken(self, column: ListColumn, field: str | None) -> None:
        if field is None or field == column.field or self._preview is None:
            return
        self._maps[column.letter] = field
        self._columns.show([self._chosen(c) for c in self._preview.columns])
        self._say("reading …")
        self._read()

    def action_notes(self, by: int) -> None:
        """Page through what was noticed."""
        notes = self.query_one(VerticalScroll)
        notes.scroll_relative(y=by * max(notes.size.height - 1, 1), animate=False)
        self.call_after_refresh(self._say_more)

    def action_capitals(self) -> None:
        """Set names in capitals as names are written, or keep them."""
        self._capitals = Capitals.KEEP if self._capitals == Capitals.SET else Capitals.SET
        self._read()

    def action_totals(self) -> None:
        """Leave out the rows that may be totals, or keep them as people."""
        self._drop_totals = not self._drop_totals
        self._read()

    def action_sheet(self) -> None:
        """Read the next sheet of the workbook."""
        if self._preview is not None:
            sheets = self._preview.sheets
            self._sheet = sheets[(sheets.index(self._preview.sheet) + 1) % len(sheets)]
            self._maps = {}
            self._read()

    def action_withdraw(self) -> None:
        """Say that the people who are no longer on the list are meant to be withdrawn."""
        self._withdraw = True
        if self._preview is not None:
            self._show(self._preview)

    def action_load(self) -> None:
        """Load the list as it is shown."""
        maps = [(field, letter) for letter, field in self._maps.items()]
        host = self._host

        def load() -> LoadedList:
            return load_list(
                host.shoot,
                self._path,
                self._sheet,
                maps,
                station=host.station,
                withdraw=self._withdraw,
                capitals=self._capitals,
                drop_totals=self._drop_totals,
            )

        if self._preview is not None and self._preview.loaded is not None:
            said = self._question(self._preview.loaded) or self._doubt(self._preview.loaded)
            if not isinstance(said, Problem):
                host.write(load, self._loaded)

    def _loaded(self, loaded: LoadedList) -> None:
        if self.is_attached:
            is_newer = bool(loaded.changed or loaded.withdrawn or loaded.unchanged)
            whose = "print tickets for who is new" if is_newer and loaded.added else "print tickets"
            self.dismiss(f"The list is loaded: {_counts(loaded)}. Next: {whose}.")


def _counts(loaded: LoadedList) -> str:
    """How many people are added, changed and so on."""
    parts = {
        "added": len(loaded.added),
        "changed": len(loaded.changed),
        "back on the list": len(loaded.restored),
        "withdrawn": len(loaded.withdrawn),
        "unchanged": loaded.unchanged,
    }
    return ", ".join(f"{count:,} {what}" for what, count in parts.items() if count) or "nothing changes"


def _taken_as(option: re.Match[str]) -> str:
    """The words of this screen for an option of the command line."""
    return f"take the column as {field_words(option[1])}"


def shown_lines(lines: list[str]) -> str:
    """The lines with what does not print made visible."""
    return "\n".join(" " * (len(line) - len(line.lstrip())) + shown(line.lstrip()) for line in lines)


_FILE = CommandField("file", "file", FieldKind.PATH, about="CSV, TSV, XLSX, XLS or ODS.", required=True)


def choose_list(app: App[Any], host: ScreenHost) -> None:
    """Ask for the client's list, show how it is understood, and load it."""

    def loaded(said: str | None) -> None:
        if said:
            host.show_message(said)

    def chosen(values: dict[str, str] | None) -> None:
        if values is None:
            return
        path = Path(values["file"]).expanduser()
        if path.is_file():
            app.push_screen(ListScreen(host, path), loaded)
        else:
            host.show_message(Problem(f"There is no file {path}.", "Check its path."))

    about = "A newer version is loaded the same way: it says what was added, changed and withdrawn."
    app.push_screen(CommandFormScreen("Load the client's list", about, [_FILE]), chosen)
