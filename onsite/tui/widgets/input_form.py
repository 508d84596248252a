"""Forms of a few fields one below another, filled with the keyboard alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.suggester import SuggestFromList
from textual.widgets import Footer, Input, Label, Static

from onsite.core.errors import Problem
from onsite.core.text import shown
from onsite.roster.roster_groups import group_sort_key


@dataclass(frozen=True, slots=True)
class FormEntry:
    """A field of a form.

    `known` are values that the right arrow key completes; `hint` is shown in the empty field.
    """

    name: str
    label: str
    value: str = ""
    known: tuple[str, ...] = ()
    hint: str = ""


def group_entry(value: str, groups: Iterable[str]) -> FormEntry:
    """The field for a group, which completes the known groups."""
    known = tuple(sorted(set(groups), key=group_sort_key))
    return FormEntry("group", "group", value, known, ", ".join(known))


CONSENT_HINT = "yes or no; empty: not asked"


class FormScreen(ModalScreen[dict[str, str] | None]):
    """Enter goes to the next field and, from the last, is done; Ctrl+S is done at once; Escape forgets it."""

    SCOPED_CSS = False  # else the styles would not hold for subclasses
    CSS = """
    FormScreen { align: center middle; background: $ground; }
    FormScreen > Vertical {
        width: 76; max-width: 100%; height: auto; max-height: 100%;
        padding: 1 2; background: $raised; overflow-y: auto;
    }
    FormScreen Horizontal { height: 1; margin: 0 0 1 0; }
    FormScreen Label { width: 14; color: $quiet; }
    FormScreen Horizontal:focus-within Label {
        color: $mark-text; background: $mark-fill; text-style: $mark-style;
    }
    FormScreen Input { width: 1fr; background: $ground; }
    FormScreen Static { height: auto; }
    FormScreen #trouble { display: none; }
    FormScreen #trouble.-problem {
        display: block; margin: 1 0 0 0; color: $on-alert; background: $alert; text-style: bold;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "enter", "Next field"),  # each field handles the key itself
        Binding("ctrl+s", "done", "Save", priority=True),
        Binding("escape", "dismiss", "Cancel"),
        Binding("up", "previous", "Field above", show=False, priority=True),
        Binding("down", "next", "Field below", show=False, priority=True),
    ]

    def __init__(
        self, title: str, fields: Sequence[FormEntry], problem: Problem | None = None, at: str = ""
    ) -> None:
        """`problem` is why the form opens again, `at` the field to begin in, if not the first."""
        super().__init__()
        self._title = title
        self._fields = tuple(fields)
        self._problem = problem
        self._at = at

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(Text(shown(self._title), style="bold"), markup=False)
            yield Static("", markup=False)
            for field in self._fields:
                with Horizontal():
                    yield Label(field.label, markup=False)
                    yield EntryField(
                        self._entered,
                        field.value,
                        shown(field.hint),
                        field.known,
                        longest=500,
                        id=f"field-{field.name}",
                    )
            yield Static("", id="beside", markup=False)
            yield Static("", id="trouble", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        if self._problem is not None:
            text = f"! {shown(self._problem.what)}  {shown(self._problem.remedy)}".rstrip()
            self.query_one("#trouble", Static).update(Text(text))
            self.query_one("#trouble").add_class("-problem")
        if self._at:
            self.query_one(f"#field-{self._at}", EntryField).focus()

    @property
    def values(self) -> dict[str, str]:
        return {
            field.name: self.query_one(f"#field-{field.name}", EntryField).value.strip()
            for field in self._fields
        }

    def beside(self, text: str) -> None:
        """Show a line below the fields."""
        self.query_one("#beside", Static).update(Text(shown(text)))

    def _entered(self, _: str) -> bool:
        # Enter pressed twice quickly: the second belongs to the field that the first moved to
        if isinstance(self.focused, EntryField):
            self.focused.complete()
        if self.focused is not None and self.focused.id == f"field-{self._fields[-1].name}":
            self.action_done()
        else:
            self.focus_next(EntryField)
        return False

    def action_enter(self) -> None:
        """Do what Enter does in the field, for a click on the footer."""
        self._entered("")

    def action_next(self) -> None:
        self.focus_next(EntryField)

    def action_previous(self) -> None:
        self.focus_previous(EntryField)

    def action_done(self) -> None:
        """Be done, with all that was typed before this key.

        A key with priority is handled before letters that came earlier; the field's own queue has them.
        """
        (self.focused or self).call_later(self._save)

    def _save(self) -> None:
        self.dismiss(self.values)  # not returned: the field would wait for its own end


class EntryField(Input, inherit_bindings=False):
    """A line of text whose Enter is handled before the next key.

    Bindings are handled only after the keys that came in meanwhile: too late for a scanner, or a fast typist,
    that goes on at once. So Enter is handled in `on_key`, with the text as it is then; footer and help show
    the screen's own label for it.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        binding for binding in Input.BINDINGS if isinstance(binding, Binding) and binding.key != "enter"
    ]

    def __init__(
        self,
        entered: Callable[[str], bool],
        value: str = "",
        hint: str = "",
        known: Sequence[str] = (),
        longest: int = 1000,
        id: str | None = None,
    ) -> None:
        """`entered` gets the text and returns whether to empty the field.

        `hint` is shown in the empty field; the right arrow key completes values from `known`.
        """
        suggester = SuggestFromList(known, case_sensitive=False) if known else None
        super().__init__(value, placeholder=hint, suggester=suggester, max_length=longest, id=id)
        self._entered = entered
        self._known = tuple(known)

    def complete(self) -> None:
        """Put the known value that the text begins, where it is one value only, in the place of the text.

        A number is never added: Tenor may be a new group beside Tenor 1.
        """
        typed = self.value.strip().casefold()
        begun = [value for value in self._known if typed and value.casefold().startswith(typed)]
        if len(begun) == 1 and not begun[0][len(typed) :].strip().isdecimal():
            self.value = begun[0]

    def on_key(self, event: events.Key) -> None:
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            if self._entered(self.value):
                self.value = ""
