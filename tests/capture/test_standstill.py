"""A taken part's number that never moves again: the person is told once, of the part and of the scale."""

from __future__ import annotations

from bench.capture.decisions import Advised


def said(scale) -> list[str]:
    return [one.words for one in scale.of(Advised) if "stands still" in one.words]


def test_a_number_that_stands_still_is_told_once_with_what_to_look_at(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1"), due("piston 2"))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.show(450.0, 24)
    assert not said(scale)
    scale.show(450.0, 60)
    (words,) = said(scale)
    assert "450.0 g for 30 s: lift the part" in words
    assert "hold key" in words
    assert scale.taken == [("piston 1", "450.0")]


def test_a_number_that_flickers_and_an_empty_pan_are_no_reason(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1"), due("piston 2"))
    scale.show(0.0, 60)
    scale.lay(450.0)
    for second in range(60):
        scale.show(450.0 if second % 20 else 450.1, 1)
    scale.lift(450.0)
    scale.show(0.0, 60)
    assert not said(scale)
