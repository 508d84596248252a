"""Choosing a file or folder with the arrow keys."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import DirectoryTree, Footer, Static


class _PlainTree(DirectoryTree):
    """Folders and files told apart by shapes that every terminal has."""

    ICON_NODE, ICON_NODE_EXPANDED, ICON_FILE = "▸ ", "▾ ", "  "


class ChoosePathScreen(ModalScreen[str | None]):
    """Arrows move, → opens a folder, Enter chooses a file, Ctrl+S a folder, Backspace goes up."""

    CSS = """
    ChoosePathScreen { align: center middle; background: $ground; }
    ChoosePathScreen Vertical { width: 90; max-width: 100%; height: 90%; padding: 1 2; background: $raised; }
    ChoosePathScreen Static { height: auto; margin: 0 0 1 0; color: $ink; }
    ChoosePathScreen DirectoryTree { background: $ground; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "take", "Choose this", priority=True),
        Binding("right", "open", "Open folder", priority=True),
        Binding("left", "close", "Close folder", show=False, priority=True),
        Binding("backspace", "up", "Folder above", priority=True),
        Binding("escape", "dismiss", "Cancel"),
    ]

    def __init__(self, begin: Path) -> None:
        """It opens in the folder `begin`, or in the nearest one above that exists."""
        super().__init__()
        begin = begin.expanduser().absolute()
        self._folder = next(path for path in (begin, *begin.parents) if path.is_dir())

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(str(self._folder), markup=False)
            yield _PlainTree(self._folder)
        yield Footer(show_command_palette=False)

    @property
    def _tree(self) -> DirectoryTree:
        return self.query_one(_PlainTree)

    def on_directory_tree_file_selected(self, event: DirectoryTree.FileSelected) -> None:
        self.dismiss(str(event.path))

    def action_take(self) -> None:
        node = self._tree.cursor_node
        self.dismiss(str(node.data.path if node is not None and node.data is not None else self._folder))

    def action_open(self) -> None:
        node = self._tree.cursor_node
        if node is not None and node.allow_expand:
            node.expand()

    def action_close(self) -> None:
        node = self._tree.cursor_node
        if node is not None and node.is_expanded:
            node.collapse()
        elif node is not None and node.parent is not None:
            self._tree.move_cursor(node.parent)

    def action_up(self) -> None:
        self._folder = self._folder.parent
        self.query_one(Static).update(str(self._folder))
        self._tree.path = self._folder
