from __future__ import annotations

import pytest

from bench.screens.big_number import big_number, fitting_scale
from bench.screens.polar_picture import Arc, Mark, full_scale, polar_picture, radius_of
from bench.screens.safe_text import safe
from bench.screens.themes import THEMES


def luminance(colour: str) -> float:
    # WCAG 2 relative luminance (from memory; the constants are those of sRGB, IEC 61966-2-1)
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_colours_can_be_read(theme: object) -> None:
    least = 7.0 if theme.name == "bench-contrast" else 4.5  # type: ignore[attr-defined]
    for name in ("foreground", "success", "warning", "error", "accent"):
        for ground in ("background", "surface", "panel"):
            assert contrast(getattr(theme, name), getattr(theme, ground)) >= least, (name, ground)


def test_black_on_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_digits_grow_with_the_box_and_are_told_apart() -> None:
    assert fitting_scale("603.8", columns=78, rows=8) == 2
    assert fitting_scale("603.8", columns=118, rows=20) >= 4
    assert fitting_scale("603.8", columns=10, rows=20) == 0
    assert big_number("603.8", columns=10, rows=3) == ["603.8"]
    shapes = {tuple(big_number(digit, columns=20, rows=8)) for digit in "0123456789"}
    assert len(shapes) == 10
    assert len(big_number("8", columns=20, rows=8)) == 7


def test_the_picture_puts_marks_where_they_belong() -> None:
    lines = polar_picture(
        columns=41,
        rows=21,
        limit_g=1.0,
        marks=[Mark(81.0, 90.0, "U", ""), Mark(81.0, 180.0, "L", "")],
        arcs=[Arc(0, 60)],
    ).plain.split("\n")
    assert len(lines) == 21
    row_up = next(i for i, line in enumerate(lines) if "U" in line)
    row_left = next(i for i, line in enumerate(lines) if "L" in line)
    assert row_up < 10
    assert lines[row_up].index("U") == 20
    assert row_left == 10
    assert lines[row_left].index("L") < 20
    plain = polar_picture(columns=21, rows=11, limit_g=1.0, marks=[], ascii_only=True).plain
    assert plain.isascii()


def test_the_scale_is_a_square_root_and_round() -> None:
    assert radius_of(25.0, full_g=100.0) == 0.5
    assert radius_of(400.0, full_g=100.0) == 1.0
    assert full_scale([], limit_g=1.0) == 5.0
    assert full_scale([86.0], limit_g=1.0) == 100.0


def test_hidden_characters_become_marks() -> None:
    assert safe("a\x1b[2J\u202eb") == "a<1B>[2J<202E>b"
    assert safe("x" * 600).endswith("...")
