"""The form of a command: a few fields with proposed values, and the others on request."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Footer, Label, Static

from onsite.core.errors import Problem
from onsite.core.text import shown
from onsite.tui.commands.choose_path import ChoosePathScreen
from onsite.tui.commands.form_fields import ChoiceField, PathField
from onsite.tui.commands.palette_command import CommandField, FieldKind
from onsite.tui.widgets.input_form import EntryField


class CommandFormScreen(ModalScreen[dict[str, str] | None]):
    """Enter goes to the next field and, from the last, does it; Ctrl+S does it at once."""

    CSS = """
    CommandFormScreen { align: center middle; background: $ground; }
    CommandFormScreen VerticalScroll {
        width: 90; max-width: 100%; height: auto; max-height: 100%; padding: 1 2; background: $raised;
    }
    CommandFormScreen Horizontal { height: 1; margin: 0 0 1 0; }
    CommandFormScreen .more { display: none; }
    CommandFormScreen.-all .more { display: block; }
    CommandFormScreen Label { width: 22; color: $quiet; }
    CommandFormScreen Horizontal:focus-within Label {
        color: $mark-text; background: $mark-fill; text-style: $mark-style;
    }
    CommandFormScreen Input { width: 1fr; background: $ground; }
    CommandFormScreen Static { height: auto; }
    CommandFormScreen #about { color: $quiet; margin: 0 0 1 0; }
    CommandFormScreen #hint { height: 2; color: $quiet; }
    CommandFormScreen #trouble { display: none; }
    CommandFormScreen #trouble.-problem {
        display: block; color: $on-alert; background: $alert; text-style: bold;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "Next field"),  # each field handles the key itself
        Binding("ctrl+s", "do", "Do it", priority=True),
        Binding("ctrl+o", "choose", "Choose a path", priority=True),
        Binding("ctrl+e", "all", "All fields", priority=True),
        Binding("escape", "dismiss", "Cancel"),
        Binding("up", "previous", "Field above", show=False, priority=True),
        Binding("down", "next", "Field below", show=False, priority=True),
    ]

    def __init__(
        self,
        title: str,
        about: str,
        fields: Sequence[CommandField],
        people: Sequence[str] = (),
        groups: Sequence[str] = (),
        values: Mapping[str, str] | None = None,
        problem: Problem | None = None,
    ) -> None:
        """`people` and `groups` are completed; `values` and `problem` are those of an earlier attempt."""
        super().__init__()
        self._title, self._about, self._fields = title, about, tuple(fields)
        self._known = {FieldKind.PERSON: tuple(people), FieldKind.GROUP: tuple(groups)}
        self._values = dict(values or {})
        self._problem = problem

    def compose(self) -> ComposeResult:
        with VerticalScroll(can_focus=False):
            yield Static(Text(shown(self._title), style="bold"), markup=False)
            yield Static(Text(shown(self._about)), id="about", markup=False)
            for field in self._fields:
                with Horizontal(classes="" if self._is_shown(field) else "more"):
                    yield Label(shown(field.label), markup=False)
                    yield self._widget(field)
            yield Static("", id="hint", markup=False)
            yield Static("", id="trouble", markup=False)
        yield Footer(show_command_palette=False)

    def _is_shown(self, field: CommandField) -> bool:
        return field.at_once or bool(self._values.get(field.name))

    def _widget(self, field: CommandField) -> Widget:
        value, place = self._values.get(field.name, field.value), f"field-{field.name}"
        if field.kind is FieldKind.CHOICE:
            empty = "choose" if field.required else "any"
            return ChoiceField(self._entered, value, field.choices, empty, id=place)
        if field.kind is FieldKind.PATH:
            return PathField(self._entered, value, id=place)
        return EntryField(self._entered, value, "", self._known.get(field.kind, ()), longest=1000, id=place)

    def on_mount(self) -> None:
        if self._problem is not None:
            trouble = self.query_one("#trouble", Static)
            trouble.update(Text(f"! {shown(self._problem.what)}  {shown(self._problem.remedy)}".rstrip()))
            trouble.add_class("-problem")
        wrong = (
            f for f in self._fields if self._problem and self._values.get(f.name, "\0") in self._problem.what
        )
        first = next(
            filter(self._is_shown, (*(f for f in wrong if self._values[f.name]), *self._fields)), None
        )
        if first is not None:
            self.query_one(f"#field-{first.name}").focus()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        field = next((f for f in self._fields if f"field-{f.name}" == event.widget.id), None)
        if field is not None:
            need = "" if field.required else "May stay empty. " if field.kind is not FieldKind.CHOICE else ""
            self.query_one("#hint", Static).update(Text(shown(need + field.about)))

    @property
    def values(self) -> dict[str, str]:
        found = {}
        for field in self._fields:
            widget = self.query_one(f"#field-{field.name}")
            if isinstance(widget, EntryField | ChoiceField):
                found[field.name] = widget.value.strip()
        return found

    def action_enter(self) -> None:
        """Do what Enter does in the field, for a click on the footer."""
        self._entered("")

    def _entered(self, _: str) -> bool:
        groups = {f"field-{f.name}" for f in self._fields if f.kind is FieldKind.GROUP}
        if isinstance(self.focused, EntryField) and self.focused.id in groups:  # a person stays as typed
            self.focused.complete()
        shown_fields = [f for f in self._fields if self._is_shown(f) or self.has_class("-all")]
        if self.focused is not None and self.focused.id == f"field-{shown_fields[-1].name}":
            self.action_do()
        else:
            self.action_next()
        return False

    def action_next(self) -> None:
        self.focus_next()

    def action_previous(self) -> None:
        self.focus_previous()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Keys that do nothing in this form are not offered."""
        if action == "choose":
            return any(field.kind is FieldKind.PATH for field in self._fields)
        return action != "all" or not all(self._is_shown(field) for field in self._fields)

    def action_all(self) -> None:
        """Show every field, or only those of the short form."""
        self.toggle_class("-all")

    def action_choose(self) -> None:
        """Choose the path of the field in focus with the arrow keys."""
        field = self.focused
        if isinstance(field, PathField):
            begin = Path(field.value or ".")
            self.app.push_screen(ChoosePathScreen(begin), lambda path: self._chosen(field, path))

    def _chosen(self, field: PathField, path: str | None) -> None:
        if path is not None:
            field.value = path
            field.cursor_position = len(path)

    def action_do(self) -> None:
        """Do it with all that was typed before this key, as in `FormScreen.action_done`."""
        (self.focused or self).call_later(self._do)

    def _do(self) -> None:
        """Do it with these values, unless one that is needed is missing."""
        values = self.values
        missing = next((f for f in self._fields if f.required and not values[f.name]), None)
        if missing is None:
            self.dismiss(values)
            return
        self.query_one(f"#field-{missing.name}").focus()
        trouble = self.query_one("#trouble", Static)
        trouble.update(Text(f"! {shown(missing.label)} is needed."))
        trouble.add_class("-problem")
