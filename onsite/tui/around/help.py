"""Help: the keys of the screen it was opened from, made from its bindings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static


class HelpScreen(ModalScreen[None]):
    """One line a key. Whatever is bound is listed here, so that help cannot fall behind."""

    CSS = """
    HelpScreen { align: center middle; background: $ground; }
    HelpScreen VerticalScroll {
        width: 64; max-width: 100%; height: auto; max-height: 100%;
        padding: 1 2; background: $raised; color: $ink;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space", "dismiss", "Close")]

    def __init__(self, explained: Screen[Any]) -> None:
        super().__init__()
        self._explained = explained

    def compose(self) -> ComposeResult:
        title = Text((self._explained.__doc__ or "").strip().splitlines()[0], style="bold")
        with VerticalScroll():
            yield Static(title, markup=False)
            yield Static("", markup=False)
            yield Static(Text("\n").join(self._lines()), markup=False)

    def _lines(self) -> Iterator[Text]:
        bindings: dict[tuple[str, str], list[str]] = {}
        for key, active in self._explained.active_bindings.items():
            binding = active.binding
            if binding.description and not binding.system and active.enabled:
                shown = binding.key_display or self.app.get_key_display(binding)
                keys = bindings.setdefault((binding.action, binding.description), [])
                if shown not in keys and key:
                    keys.append(shown)
        for (_, description), keys in bindings.items():
            yield Text.assemble((f"{' '.join(keys):>16}", "bold"), f"  {description}")
