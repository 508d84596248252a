"""The grammar of keys: what each key means, the same in every mode.

A mode makes its bindings from these, so that no key means something else there. In a field letters are typed:
there the function keys do what the letters do elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True, slots=True)
class GrammarKey:
    """A key, or two that do the same, with the one action that a mode may give it."""

    keys: str
    """Textual's names, a comma between."""
    display: str
    """As footer and help show it."""
    action: str
    """The action of a mode's screen, with its argument."""
    means: str
    """What the key does in any mode."""

    def says(
        self, label: str = "", *, show: bool = True, priority: bool = False, display: str = ""
    ) -> Binding:
        """The binding in a mode, with the label that footer and help show; without one it is not listed."""
        return Binding(
            self.keys,
            self.action,
            label,
            show=show and bool(label),
            key_display=display or self.display,
            priority=priority,
        )


_NAMES = {
    "escape": "Esc",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "backspace": "Backspace",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "pageup": "PgUp",
    "pagedown": "PgDn",
}


def key_text(binding: Binding) -> str:
    """The key of a binding as footer and help show it, such as Esc or Ctrl+S."""
    if binding.key_display:
        return binding.key_display
    *held, key = binding.key.split("+")
    return "+".join([*(name.capitalize() for name in held), _NAMES.get(key, key.upper())])


# Moving about
UP = GrammarKey("up", "↑ ↓", "step(-1)", "move in the list")
DOWN = GrammarKey("down", "↑ ↓", "step(1)", "move in the list")
PAGE_UP = GrammarKey("pageup", "PgUp PgDn", "queue(-1)", "page through the list")
PAGE_DOWN = GrammarKey("pagedown", "PgUp PgDn", "queue(1)", "page through the list")
LEFT = GrammarKey("left", "← →", "frame(-1)", "the frame before, after")
RIGHT = GrammarKey("right", "← →", "frame(1)", "the frame before, after")
PANEL = GrammarKey("tab", "Tab", "app.focus_next", "the next panel")
TURN_BACK = GrammarKey("left_square_bracket", "[ ]", "turn(-1)", "another camera, group or kind of work")
TURN = GrammarKey("right_square_bracket", "[ ]", "turn(1)", "another camera, group or kind of work")
OPEN_NEXT = GrammarKey("n", "N B", "open(1)", "the next to settle, the one before")
OPEN_BEFORE = GrammarKey("b", "N B", "open(-1)", "the next to settle, the one before")
SEARCH = GrammarKey("slash", "/", "search", "search")
BACK = GrammarKey("escape", "Esc", "clear", "back to everybody, or out of a field")
EXPLAIN = GrammarKey("question_mark", "?", "app.explain", "explain this screen (F5 in fields)")

# Doing
ENTER = GrammarKey("enter", "Enter", "enter", "the main thing")
UNDO = GrammarKey("u,f9", "U", "undo", "undo (F9 in fields)")
PICTURE = GrammarKey("f", "F", "picture", "the picture full screen")
PERSON = GrammarKey("p", "P", "person", "choose a person")
PUT_AWAY = GrammarKey(
    "x", "X", "put_away", "put away a warning, nobody's frames, or a file that is not right"
)
HISTORY = GrammarKey("h", "H", "history", "what happened with a person")
SLATE = GrammarKey("f6", "F6", "slate", "the slate of a person full screen")
TICKET_CODE = GrammarKey("f7", "F7", "code", "the code of a person's ticket, for their phone")
WALK_IN = GrammarKey("f8", "F8", "walk_in", "somebody who is not on the list")
CARD = GrammarKey("ctrl+t", "Ctrl+T", "card", "give a deck card")
CONFIRM = GrammarKey("ctrl+n", "Ctrl+N", "confirm", "the name is right")
CORRECT = GrammarKey("ctrl+o", "Ctrl+O", "correct", "correct a person, or whether they are published")
CLOCK = GrammarKey("c", "C", "clock", "the clock slate full screen")
WATCH = GrammarKey("w", "W", "watch", "watch a folder")
ACCEPT = tuple(
    GrammarKey(str(number), "1 to 5", f"accept({number})", "accept that suggestion") for number in range(1, 6)
)
SPLIT = GrammarKey("s", "S", "split", "split a run at the frame in front")
JOIN_BEFORE = GrammarKey("j", "J K", "join(-1)", "join with the run before, after")
JOIN_AFTER = GrammarKey("k", "J K", "join(1)", "join with the run before, after")
AUTOMATIC = GrammarKey("a", "A", "automatic", "back to automatic")
LISTS = GrammarKey("l", "L", "lists", "the lists at the end of the day")
MISSING = GrammarKey("m", "M", "missing", "who is not here yet")
REMIND = GrammarKey("r", "R", "remind", "write reminders")

GRAMMAR: tuple[GrammarKey, ...] = (
    *(key for key in list(globals().values()) if isinstance(key, GrammarKey)),
    *ACCEPT,
)
"""Every key of the modes."""
