"""The examples of the developers' page and of the template language are true: each is read as it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drivers import template
from drivers.contract import LineFault, Reading, SpinReading
from drivers.number_style import NumberStyle
from drivers.registry import make_export_reader, make_scale_driver, profile_places
from drivers.template import Template, Vocabulary

PAGE = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")


def blocks(heading: str) -> tuple[str, str]:
    """Return the profile and the sample text below a heading."""
    part = PAGE.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    (profile,) = re.findall(r"```toml\n(.*?)```", part, re.DOTALL)
    (sample,) = re.findall(r"```text\n(.*?)```", part, re.DOTALL)
    return profile, sample


def in_words(reading: Reading) -> str:
    shown = reading.condition.value if reading.value is None else f"{reading.value} {reading.unit}"
    steady = "" if reading.steady is None else ", steady" if reading.steady else ", moving"
    return shown + steady + (", net" if reading.net else "")


def test_a_scale_in_twenty_lines(tmp_path: Path) -> None:
    profile, sample = blocks("Add a scale")
    assert len(profile.splitlines()) <= 20
    (tmp_path / "bench-pan.toml").write_text(profile, encoding="utf-8")
    driver = make_scale_driver("bench-pan", folder=tmp_path)
    driver.feed(b"cut\r\n", 0)
    assert len(sample.splitlines()) >= 3
    for told in sample.splitlines():
        line, meaning = told.rsplit("= ", 1)
        items = driver.feed(line.rstrip().encode() + b"\r\n", 0)
        assert [in_words(item) if isinstance(item, Reading) else item for item in items] == [meaning]


def test_a_balancer_s_text_in_ten_lines(tmp_path: Path) -> None:
    profile, sample = blocks("Add a balancer's text")
    assert len(profile.splitlines()) <= 10
    (tmp_path / "floor-machine.toml").write_text(profile, encoding="utf-8")
    text, meaning = sample.rsplit("= ", 1)
    items = make_export_reader("floor-machine", folder=tmp_path).read(text.encode())
    assert [item.label for item in items if isinstance(item, SpinReading)] == ["7"]
    (run,) = [item for item in items if isinstance(item, SpinReading)]
    planes = "; ".join(f"{p.plane} {p.amount} {run.unit} at {p.heavy_angle_deg:.1f}°" for p in run.planes)
    assert f"run {run.label}: {planes}" == meaning.strip()


def test_a_built_in_streaming_scale_is_as_short() -> None:
    text = profile_places("scale")["plain-stream"].read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 20


VOCABULARY = Vocabulary(
    numbers={"value", "amount", "angle"},
    words={
        "unit": ["g"],
        "state": ["still", "OK", "S"],
        "kind": ["N"],
        "sign": ["-", "+"],
        "plane": ["FRONT"],
    },
    texts={"label"},
    patterns={"check": "[0-9A-F]{2}"},
    style=NumberStyle(decimal="."),
)
TABLE = re.findall(r"^``(.+?)``  +``(.+?)``", template.__doc__ or "", re.MULTILINE)


def test_there_are_ten_examples_of_the_template_language() -> None:
    assert len([row for row in TABLE if "{" in row[0]]) == 10


@pytest.mark.parametrize(("text", "line"), TABLE)
def test_an_example_of_the_template_language_reads_its_line(text: str, line: str) -> None:
    fields = Template(text, VOCABULARY).match(line)
    assert fields is not None
    for name, found in fields.items():
        assert found.strip() in line, name
    assert Template(text, VOCABULARY).match(line + "?") is None or "{label}" in text


def test_a_line_of_another_form_is_a_fault_with_both_told(tmp_path: Path) -> None:
    profile, _ = blocks("Add a scale")
    (tmp_path / "bench-pan.toml").write_text(profile, encoding="utf-8")
    (fault,) = make_scale_driver("bench-pan", folder=tmp_path).feed(b"\r\nok X     603,8 g\r\n", 0)
    assert isinstance(fault, LineFault)
    assert "603,8" in fault.found
    assert "{value}" in fault.wanted
