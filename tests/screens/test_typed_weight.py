"""A typed weight that does not fit its set is asked about once, in the form."""

from __future__ import annotations

from decimal import Decimal

from listening_desk import ListeningDesk, settle, some_state, until, weighing

from bench.screens import dialogs
from bench.screens.app import BenchApp
from bench.screens.form_dialog import FormDialog
from bench.use_cases import commands as c


async def test_a_weight_ten_times_its_set_is_asked_about_once() -> None:
    state = some_state(cells=5)
    desk = ListeningDesk(weighing())
    app = BenchApp(desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        got: list[c.Command | None] = []
        form = dialogs.type_weight(state.spec, None, state=state)
        app.push_screen(form, got.append)
        await settle(pilot)
        for field, text in (("cell", "piston 6"), ("grams", "5864"), ("reason", "wet")):
            form.query_one(f"#field-{field}").value = text  # type: ignore[attr-defined]
        await pilot.click("#do")
        await settle(pilot)
        assert isinstance(app.screen, FormDialog)
        assert got == []
        await pilot.press("enter")
        await until(pilot, lambda: bool(got))
        (command,) = got
        assert isinstance(command, c.TypeWeight)
        assert command.grams == Decimal(5864)
