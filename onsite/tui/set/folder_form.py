"""The form for the folder to watch and the label of its camera."""

from __future__ import annotations

from onsite.tui.widgets.input_form import FormEntry, FormScreen


class FolderScreen(FormScreen):
    """A folder to watch and a label for its camera; no folder: watching stops."""

    def __init__(self, folder: str, label: str, watching: bool) -> None:
        super().__init__(
            "Watch another folder, or none" if watching else "Watch a folder",
            (FormEntry("folder", "folder", folder), FormEntry("label", "camera label", label)),
        )
        self._watching = watching

    def on_mount(self) -> None:
        stop = " Without a folder, watching stops." if self._watching else ""
        self.beside(f"The label may stay empty: cameras then go by letters.{stop}")
