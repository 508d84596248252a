"""The keys of the wrap."""

from __future__ import annotations

from textual.binding import Binding, BindingType

KEYS: list[BindingType] = [
    Binding(
        "enter",
        "accept_first",
        "Accept",
        key_display="⏎",
        tooltip="sets an empty backdrop aside",
        priority=True,
    ),
    Binding("1", "accept(1)", "Accept that suggestion", show=False, key_display="1 to 5"),
    *(Binding(str(n), f"accept({n})", show=False) for n in range(2, 6)),
    Binding("p", "pick", "Pick"),
    Binding("s", "split", "Split"),
    Binding("j", "join(-1)", "Join", key_display="j k", tooltip="before, after"),
    Binding("k", "join(1)", show=False),
    Binding("x", "aside", "Aside"),
    Binding("f", "free", "Free"),
    Binding("u", "undo", "Undo"),
    Binding("n", "loose(1)", "Loose"),
    Binding("b", "loose(-1)", "Loose run before", show=False),
    Binding("left", "frame(-1)", "Frame before", show=False),
    Binding("right", "frame(1)", "Frame after", show=False),
    Binding("tab", "lane(1)", "Next camera", show=False, priority=True),
    Binding("shift+tab", "lane(-1)", "Camera before", show=False, priority=True),
    Binding("v", "view", "The frame full screen", show=False),
    Binding("l", "lists", "Lists"),
]
