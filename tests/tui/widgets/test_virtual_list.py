"""The list of any length, driven with keys."""

from rich.text import Text
from textual.app import App, ComposeResult

from onsite.tui.themes import all_themes
from onsite.tui.widgets.virtual_list import Cell, Ink, VirtualList, cells_line, fit_cells


def draw(number: int, width: int, ink: Ink) -> Text:
    return cells_line(width, [Cell(f"number {number}")], ink)


class Rolling(App[None]):
    def __init__(self) -> None:
        super().__init__()
        for look in all_themes()[0].values():
            self.register_theme(look.theme())
        self.theme = "graycard"
        self.chosen: list[int] = []
        self.moved: list[int | None] = []

    def compose(self) -> ComposeResult:
        yield VirtualList[int](draw, lambda number: number, empty="nothing here")

    @property
    def roll(self) -> VirtualList[int]:
        return self.query_one(VirtualList)

    def on_virtual_list_selected(self, event: VirtualList.Selected[int]) -> None:
        self.chosen.append(event.item)

    def on_virtual_list_highlighted(self, event: VirtualList.Highlighted[int]) -> None:
        self.moved.append(event.item)

    def lines(self) -> list[str]:
        return [self.roll.render_line(y).text.rstrip() for y in range(self.roll.size.height)]


async def test_keys_go_through_a_hundred_thousand_lines() -> None:
    app = Rolling()
    async with app.run_test(size=(30, 10)) as pilot:
        app.roll.show(range(100_000))
        await pilot.press("down", "down", "enter", "end", "enter", "pageup", "enter", "home", "up", "enter")
        await pilot.pause()
        assert app.chosen == [2, 99_999, 99_990, 0]
        assert app.lines()[0] == "number 0"


async def test_the_cursor_stays_on_its_item_when_others_come_before_it() -> None:
    app = Rolling()
    async with app.run_test(size=(30, 10)) as pilot:
        app.roll.show([5, 6, 7])
        await pilot.press("down")
        app.roll.show([1, 2, 5, 6, 7])
        assert app.roll.item == 6
        app.roll.show([1, 2, 7])  # it is gone: the cursor stays near
        assert app.roll.item == 7


async def test_an_empty_list_says_so_and_takes_keys() -> None:
    app = Rolling()
    async with app.run_test(size=(30, 10)) as pilot:
        app.roll.show([1])
        app.roll.show([])
        await pilot.press("down", "end", "enter")
        assert app.roll.item is None
        assert app.lines()[0] == "nothing here"
        assert app.chosen == []


def test_text_is_cut_to_cells_not_to_letters() -> None:
    assert fit_cells("山田花子さん", 7) == "山田花…"
    assert fit_cells("Ana", 6) == "Ana   "
    assert fit_cells("12", 4, right=True) == "  12"
    assert fit_cells("a\nb\x1b[31m", 12).isprintable()
