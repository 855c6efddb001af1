"""What the shop sets about weighing reaches the desk and the machine; what cannot be used is refused with what was wanted."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench.command_line.settings import SettingsError, read_settings
from bench.command_line.settings_writing import keep, key_path
from bench.command_line.weigh_command import wish
from bench.command_line.weighing_settings import stock_piece, weigh_rules, weigh_settings
from bench.computation.shims import StockPiece
from bench.screens.form_dialog import FormComplaintError
from bench.screens.otherwise_dialog import otherwise_command
from bench.use_cases.commands import NoteTemperature


def test_reminders_hanging_and_stock_come_from_the_settings_file(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    keep(
        file,
        {
            key_path("weighing.check_after_h"): "8",
            key_path("weighing.check_after_degrees"): "2.5",
            key_path("weighing.check_after_divisions"): "0",
            key_path("weighing.temperature_c"): "21.5",
            key_path("weighing.hang_twice"): "true",
            key_path("weighing.hang_limit_g"): "0.3",
            key_path("stock.washer 20"): "20.0 x 8",
        },
    )
    settings, _ = read_settings(file)
    rules = weigh_rules(settings.weighing, settings.stock)
    assert (rules.check_after_h, rules.check_after_degrees, rules.check_after_divisions) == (8.0, 2.5, 0.0)
    assert rules.temperature_c == 21.5
    assert rules.stock == {"washer 20": StockPiece(20.0, 8)}
    machine = weigh_settings(settings.weighing)
    assert (machine.hang_twice, machine.hang_limit_g) == (True, 0.3)


@pytest.mark.parametrize(
    ("key", "value", "wanted"),
    [
        ("stock.washer 20", "twenty", "grams of one and how many"),
        ("stock.washer 20", "20.0", "grams of one and how many"),
        ("stock.washer 20", "-1 x 3", "grams above 0"),
        ("stock.washer 20", "nan x 3", "grams above 0"),
        ("stock.washer 20", "1 x 5000", "count up to 1000"),
        ("weighing.check_after_h", "-1", "greater than or equal to 0"),
        ("weighing.temperature_c", "900", "less than or equal to 80"),
        ("weighing.hang_limit_g", "0", "greater than 0"),
        ("weighing.hang_twice", "sometimes", "boolean"),
    ],
)
def test_what_cannot_be_used_is_refused_and_the_file_stays(tmp_path: Path, key: str, value: str, wanted: str) -> None:
    file = tmp_path / "settings.toml"
    keep(file, {key_path("bench"): "north"})
    before = file.read_bytes()
    with pytest.raises(SettingsError) as refused:
        keep(file, {key_path(key): value})
    assert wanted in str(refused.value)
    assert file.read_bytes() == before


def test_pieces_are_read_as_people_write_them() -> None:
    assert stock_piece("0,5 g x 40") == StockPiece(0.5, 40)
    assert stock_piece("8 X 12") == StockPiece(8.0, 12)


@pytest.mark.parametrize("words", ["temperature 21.5", "temperature 21,5"])
def test_both_faces_understand_a_temperature(words: str) -> None:
    assert wish(words.split()) == NoteTemperature(21.5)
    assert otherwise_command({"what": words}) == NoteTemperature(21.5)


@pytest.mark.parametrize("words", ["temperature", "temperature warm"])
def test_both_faces_refuse_what_is_no_temperature(words: str) -> None:
    assert wish(words.split()) is None
    with pytest.raises(FormComplaintError):
        otherwise_command({"what": words})
