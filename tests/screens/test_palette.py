from __future__ import annotations

from itertools import combinations

import pytest

from bench.screens.palette import SHADES, STATE_STYLES, Shades, themes

Rgb = tuple[float, float, float]

# Simulation of colour-vision deficiency at full severity, on linear sRGB: Machado, Oliveira, Fernandes, "A
# physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15 (2009) 1291, table of severity 1.0.
# Carried over from memory of the published table; each row of a matrix sums to one, which is checked below.
MACHADO = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
JUST_APART = 20.0
"""Difference of CIE 1976 L*a*b* below which two states are too alike; 2.3 is the least an eye can see."""


def linear(colour: str) -> Rgb:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    # IEC 61966-2-1
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return r, g, b


def luminance(colour: str) -> float:
    r, g, b = linear(colour)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    # WCAG 2.1, success criterion 1.4.3
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: Rgb) -> Rgb:
    r, g, b = rgb
    # sRGB to XYZ (IEC 61966-2-1), white D65, then CIE 15 L*a*b*
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089

    def f(t: float) -> float:
        return t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29

    return 116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))


def seen(colour: str, kind: str | None) -> Rgb:
    rgb = linear(colour)
    if kind is None:
        return lab(rgb)
    r, g, b = (min(1.0, max(0.0, sum(k * c for k, c in zip(row, rgb, strict=True)))) for row in MACHADO[kind])
    return lab((r, g, b))


def apart(a: str, b: str, kind: str | None) -> float:
    return sum((p - q) ** 2 for p, q in zip(seen(a, kind), seen(b, kind), strict=True)) ** 0.5


def test_the_measures_themselves() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
    lightness, a, b = lab(linear("#ffffff"))
    assert lightness == pytest.approx(100.0, abs=0.1)
    assert abs(a) < 0.5
    assert abs(b) < 0.5
    for matrix in MACHADO.values():
        for row in matrix:
            assert sum(row) == pytest.approx(1.0, abs=1e-5)
    # red and green of equal lightness are the pair that a deutan eye takes for one
    assert apart("#d06000", "#6b9000", "deutan") < apart("#d06000", "#6b9000", None) / 2


@pytest.mark.parametrize("name", SHADES)
def test_all_pairs_can_be_read(name: str) -> None:
    shades, least = SHADES[name], 7.0 if name == "stark" else 4.5
    for ink in ("ink", "faint", "accent", "good", "ask", "bad"):
        for ground in ("ground", "raised"):
            assert contrast(getattr(shades, ink), getattr(shades, ground)) >= least, (ink, ground)
    for ink in ("ink", "accent", "good", "ask", "bad"):
        if name != "mono" or ink == "ink":
            assert contrast(getattr(shades, ink), shades.zone) >= min(least, 4.5), (ink, "zone")
    assert contrast(shades.ink, shades.zone) >= least


@pytest.mark.parametrize("kind", [None, *MACHADO])
@pytest.mark.parametrize("name", [name for name in SHADES if name != "mono"])
def test_states_stay_apart_for_every_eye(name: str, kind: str | None) -> None:
    shades: Shades = SHADES[name]
    # a question is underlined and has its sign; it may be as light or dark as the text
    for one, two in (*combinations(("good", "ask", "bad"), 2), ("good", "ink"), ("bad", "ink")):
        assert apart(getattr(shades, one), getattr(shades, two), kind) >= JUST_APART, (one, two)


def test_states_differ_without_any_colour() -> None:
    bare = {level: {w for w in style.split() if not w.startswith("$")} for level, style in STATE_STYLES.items()}
    assert len({tuple(sorted(words)) for words in bare.values()}) == len(bare)
    mono = SHADES["mono"]
    for colour in (getattr(mono, field) for field in mono.__slots__):
        assert len({colour[1:3], colour[3:5], colour[5:7]}) == 1


def test_each_theme_names_all_our_colours() -> None:
    for theme in themes():
        assert {"ground", "ink", "faint", "accent", "good", "ask", "bad", "zone"} <= set(theme.variables)
