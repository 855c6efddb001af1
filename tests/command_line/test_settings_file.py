"""The settings file: comments stay, refusals name the nearest key, nothing is written that cannot be read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from calling import call

from bench.command_line.exit_codes import ExitCode

FILE = """\
# the bench by the window
by = "mk"   # Monday to Thursday

[scale]
# bought second hand
url = "/dev/ttyUSB9"
"""


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("SPINLEDGER_BY", "SPINLEDGER_SCALE", "SPINLEDGER_THEME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    path = tmp_path / "settings.toml"
    path.write_text(FILE, encoding="utf-8")
    return path


def test_a_change_leaves_comments_and_order_alone(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--set", "theme=stark", "--set", "scale.profile=print-key", "--set", "keys.bench.skip=f6"]
    assert call("settings", *words, "--set", "intake.oil_g=5,5", "--json") == 0
    values = json.loads(capsys.readouterr().out)["values"]
    assert values["theme"] == {"value": "stark", "from": str(path)}
    assert values["keys.bench.skip"]["value"] == "f6"
    assert values["intake.oil_g"]["value"] == 5.5
    assert values["units"]["from"] == "default"
    text = path.read_text(encoding="utf-8")
    for line in FILE.splitlines():
        assert line in text
    assert text.index("bought second hand") < text.index("/dev/ttyUSB9")
    unset = ["--unset", "theme", "--unset", "scale.profile", "--unset", "keys.bench.skip", "--unset", "intake.oil_g"]
    assert call("settings", *unset) == 0
    assert path.read_text(encoding="utf-8").startswith(FILE.rstrip())
    assert "stark" not in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("thme=chalk", "'theme', the nearest"),
        ("scal.url=x", "'scale.url', the nearest"),
        ("url=x", "'scale.url', the nearest"),
        ("theme=pink", "'dusk'"),
        ("intake.oil_g=much", "intake.oil_g"),
        ("intake.radius_mm=-3", "greater than 0"),
        ("keys.bench.skipp=f6", "'bench.skip', the nearest"),
        ("keys.bench.skip=ctrl+z", "terminals do not keep"),
        ("keys.bench.skip=enter", "cards and fields"),
        ("keys.bench.due=x", "types nothing"),
        ("keys.bench.skip=q", "'bench.quit'"),
        ("keys.bench.skip=f 6", "name of a key"),
        ("theme", "KEY=VALUE"),
        ("keys=x", "keys"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    path: Path, change: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("settings", "--set", change) in {ExitCode.USAGE, ExitCode.INPUT_REFUSED}
    assert told in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == FILE
    assert list(path.parent.glob("*.new")) == []


def test_a_file_that_cannot_be_read_is_not_written_over(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path.write_text("by = \n", encoding="utf-8")
    assert call("settings", "--set", "theme=chalk") == ExitCode.USAGE
    assert "settings.toml" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "by = \n"


@pytest.mark.parametrize("text", ["[keys]\n'bench.skp' = 'f6'\n", "[scale]\nurll = 'x'\n", "thme = 'x'\n"])
def test_a_key_that_is_not_known_is_told_with_the_nearest(
    path: Path, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path.write_text(text, encoding="utf-8")
    assert call("settings") == ExitCode.USAGE
    assert "the nearest" in capsys.readouterr().err
