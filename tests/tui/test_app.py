"""The plain screens, driven as a person drives them."""

from textual.widgets import DataTable, Static

from onsite.checkin.door import check_in
from onsite.roster.load import load
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp


def with_people(shoot: Shoot) -> Shoot:
    listed = shoot.folder / "list.csv"
    listed.write_text("key,name\n1,Ana [bold]Horvat\n2,Bo Lind\n", encoding="utf-8")
    load(shoot, listed)
    check_in(shoot, "2")
    return shoot


async def test_the_roster_shows_everybody_with_their_stage(shoot: Shoot) -> None:
    app = OnsiteApp(with_people(shoot))
    async with app.run_test(size=(100, 30)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        table = app.screen.query_one(DataTable)
        rows = [[str(cell) for cell in table.get_row_at(i)] for i in range(table.row_count)]
    assert [row[1] for row in rows] == ["Ana [bold]Horvat", "Bo Lind"]
    assert [row[3] for row in rows] == ["expected", "arrived"]


async def test_the_wrap_shows_the_equation(shoot: Shoot) -> None:
    app = OnsiteApp(with_people(shoot))
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.press("f2")
        await app.workers.wait_for_complete()
        await pilot.pause()
        said = str(app.screen.query_one(".counts", Static).render())
    assert said == "0 frames in = 0 named + 0 slates + 0 loose + 0 set aside"


async def test_q_closes(shoot: Shoot) -> None:
    app = OnsiteApp(shoot)
    async with app.run_test() as pilot:
        await pilot.press("q")
        await pilot.pause()
        assert not app.is_running
