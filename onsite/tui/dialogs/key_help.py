"""Help: the keys of the screen it was opened from, made from its bindings, and its signs and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from rich.text import Text
from textual.app import App, ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from onsite.tui.key_grammar import EXPLAIN, GRAMMAR

_EVERYWHERE = (
    "F1 Door · F2 Set · F3 Reconcile · F4 Status · F10 or Ctrl+G Desk",
    "Ctrl+P everything that can be done, by name · Ctrl+Q close: all is saved",
)

_ROOMY = 32  # lines of a terminal that has room for a line a key
_LABEL = 22  # cells of a key's label


class HelpScreen(ModalScreen[None]):
    """The main thing first, then a line a key, the signs and words, and the keys that work everywhere.

    Whatever is bound is listed, so that help cannot fall behind.
    """

    CSS = """
    HelpScreen { align: center middle; background: $ground; }
    HelpScreen VerticalScroll {
        width: 100; max-width: 100%; height: auto; max-height: 100%;
        padding: 0 2; background: $raised; color: $ink;
    }
    HelpScreen Horizontal { height: auto; }
    HelpScreen Static { width: 1fr; height: auto; }
    HelpScreen .help--section { margin: 1 0 0 0; }
    HelpScreen .help--sign { width: 18; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space", "dismiss", "Close")]

    def __init__(self, explained: Screen[Any]) -> None:
        super().__init__()
        self._explained = explained

    def compose(self) -> ComposeResult:
        title = Text((self._explained.__doc__ or "").strip().splitlines()[0], style="bold underline")
        roomy = self.app.size.height >= _ROOMY
        lines = list(self._lines(roomy))
        half = len(lines) if roomy else -(-len(lines) // 2)
        with VerticalScroll():
            yield Static(title, markup=False)
            with Horizontal(classes="help--section"):
                for column in filter(None, (lines[:half], lines[half:])):
                    yield Static(Text("\n").join(column), markup=False)
            signs = getattr(self._explained, "SIGNS", ())
            for number, (sign, meaning) in enumerate(signs):
                with Horizontal(classes="" if number else "help--section"):
                    yield Static(Text(sign, "bold"), classes="help--sign", markup=False)
                    yield Static(meaning, markup=False)
            yield Static("\n".join(_EVERYWHERE), classes="help--section", markup=False)

    def _lines(self, roomy: bool) -> Iterator[Text]:
        """The lines of keys: the main thing first, then the others shown in the footer, then the rest; where
        there is room each with what it means."""
        bindings: dict[tuple[str, str], list[str]] = {}
        actives = self._explained.active_bindings.values()
        for active in sorted(
            actives, key=lambda active: (active.binding.key != "enter", not active.binding.show)
        ):
            binding = active.binding
            if not binding.description or not active.enabled or not _is_own_key(active):
                continue
            said = f"{binding.description} {binding.tooltip}".rstrip()
            if roomy and (means := _means(binding)):
                is_all = means.removeprefix("the ").startswith(said.casefold().removeprefix("the "))
                said = means[0].upper() + means[1:] if is_all else f"{said:<{_LABEL}} {means}"
            keys = bindings.setdefault((binding.action, said), [])
            key = binding.key_display or self.app.get_key_display(binding)
            if key not in keys:
                keys.append(key)
        for (_, said), keys in bindings.items():
            yield Text.assemble((f"{' '.join(keys):>10}", "bold"), f"  {said}")


def _means(binding: Binding) -> str:
    """What a key of the modes means in any of them; empty for other keys, and for help itself."""
    for key in GRAMMAR:
        if binding.key in key.keys.split(",") and binding.action == key.action and key is not EXPLAIN:
            return key.means
    return ""


def _is_own_key(active: ActiveBinding) -> bool:
    """Whether a key does something of this program: editing keys and the bar's keys are left out."""
    name = active.binding.action.partition("(")[0]
    if name.startswith("app."):
        return not active.binding.description.startswith("Focus ")
    action = getattr(type(active.node), f"action_{name}", None)
    return action is not None and action.__module__.startswith("onsite.") and not isinstance(active.node, App)
