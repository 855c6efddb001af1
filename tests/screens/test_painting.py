from __future__ import annotations

import pytest

from bench.screens.big_text import big_lines
from bench.screens.glyphs import GLYPH_SETS
from bench.screens.letters import SMALL, TALL, half_blocks, pixels, scaled
from bench.screens.polar_picture import Arc, PolarScene, Stop, full_scale, polar_rows, radius_of
from bench.screens.safe_text import clipped, padded, plain, safe


def test_digits_grow_with_the_box() -> None:
    small = big_lines("603.8", width=60, height=8)
    large = big_lines("603.8", width=118, height=20)
    assert small is not None
    assert large is not None
    assert (len(small), len(large)) == (7, 18)
    assert big_lines("603.8", width=10, height=20) is None
    assert big_lines("piston ↯", width=100, height=20) is None


def test_letters_of_a_face_are_told_apart_and_even() -> None:
    for face in (TALL, SMALL):
        drawings = {char: glyph for char, glyph in face.items() if char != " "}
        assert len(set(drawings.values())) == len(drawings)
        for char, glyph in face.items():
            assert len(glyph) == len(face["0"]), char
            assert len({len(row) for row in glyph}) == 1, char
            assert set("".join(glyph)) <= {"#", " "}, char
        # a number must not jump while it settles
        assert len({len(face[digit][0]) for digit in "0123456789"}) == 1


def test_large_letters_use_three_characters_only() -> None:
    rows = pixels("0123456789 ABCDEFGHIJKLMNOPQRSTUVWXYZ", TALL)
    assert rows is not None
    assert set("".join(half_blocks(rows))) <= set("▀▄█ ")
    assert set("".join(half_blocks(rows, blocks=False))) <= set("# ")
    assert half_blocks(scaled(["# "], 2)) == ["██  "]


def picture(scene: PolarScene, *, width: int = 41, height: int = 21, glyphs: str = "quadrant") -> list[str]:
    return [row.plain for row in polar_rows(scene, width=width, height=height, glyphs=GLYPH_SETS[glyphs])]


@pytest.mark.parametrize(
    ("angle", "column", "row"),
    [(0.0, 20, 1), (90.0, 3, 10), (180.0, 20, 18), (270.0, 36, 10)],
)
def test_a_stop_lies_where_it_belongs(angle: float, column: int, row: int) -> None:
    # the mark is at the top and angles run to the left, as seen from the front
    lines = picture(PolarScene(limit_g=1.0, path=(Stop(81.0, angle, "U"),)))
    assert len(lines) == 21
    ((found_row, line),) = [(i, line) for i, line in enumerate(lines) if "U" in line]
    assert abs(found_row - row) <= 1
    assert abs(line.index("U") - column) <= 1


def test_the_path_joins_the_runs_and_the_zone_has_a_background() -> None:
    scene = PolarScene(limit_g=4.0, path=(Stop(81.0, 90.0, "1"), Stop(1.0, 270.0, "2")))
    rows = polar_rows(scene, width=41, height=21, glyphs=GLYPH_SETS["quadrant"])
    middle = rows[10].plain
    between = middle[middle.index("1") + 1 : middle.index("2")]
    assert sum(char in "▀▄▌▐▖▗▘▝▚▞█▛▜▙▟" for char in between) > 10
    styles = {str(span.style) for span in rows[10].spans}
    assert any("on $zone" in style for style in styles)
    assert not any("on $zone" in str(span.style) for span in rows[0].spans)


def test_cuts_stand_at_the_rim_and_arcs_thicken_it() -> None:
    bare = picture(PolarScene(limit_g=1.0))
    arc = picture(PolarScene(limit_g=1.0, arcs=(Arc(0.0, 60.0),)))
    assert sum(map(len, map(str.split, arc))) != 0
    dots = [sum(char not in " +" for line in half for char in line) for half in (bare[:10], arc[:10])]
    below = [sum(char not in " +" for line in half for char in line) for half in (bare[11:], arc[11:])]
    assert dots[1] > dots[0]
    assert below[0] == below[1]
    cut = picture(PolarScene(limit_g=1.0, cuts=(Stop(5.0, 90.0, ""), Stop(5.0, float("nan"), ""))))
    assert sum(line.count("▼") for line in cut) == 1
    assert cut[10].index("▼") < 5


@pytest.mark.parametrize(
    ("glyphs", "alphabet"),
    [("ascii", set(map(chr, range(32, 127)))), ("half", set("▀▄█▼●+ 0123456789"))],
)
def test_older_consoles_get_only_what_they_have(glyphs: str, alphabet: set[str]) -> None:
    scene = PolarScene(limit_g=1.0, path=(Stop(81.0, 30.0, "1"), Stop(9.0, 200.0, "2")), cuts=(Stop(5.0, 90.0, ""),))
    assert set("".join(picture(scene, glyphs=glyphs))) <= alphabet


def test_braille_is_drawn_where_it_is_asked_for() -> None:
    assert any(0x2800 < ord(char) < 0x2900 for line in picture(PolarScene(1.0), glyphs="braille") for char in line)


@pytest.mark.parametrize("size", [(1, 1), (3, 3), (7, 4), (200, 5)])
def test_no_room_is_no_fault(size: tuple[int, int]) -> None:
    scene = PolarScene(limit_g=1.0, path=(Stop(float("inf"), 30.0, "1"), Stop(9.0, 200.0, "12")))
    lines = picture(scene, width=size[0], height=size[1])
    assert len(lines) == size[1]


def test_the_scale_is_a_square_root_and_round() -> None:
    assert radius_of(25.0, full_g=100.0) == 0.5
    assert radius_of(400.0, full_g=100.0) == 1.0
    assert full_scale([], limit_g=1.0) == 5.0
    assert full_scale([86.0], limit_g=1.0) == 100.0
    assert full_scale([float("nan"), 86.0], limit_g=1.0) == 100.0


def test_hidden_characters_become_marks() -> None:
    assert safe("a\x1b[2J\u202eb") == "a<1B>[2J<202E>b"
    assert safe("a\u0301") == "a\u0301"
    assert safe("a" + "\u0301" * 4) == "a\u0301\u0301<301><301>"
    assert safe("\u3000x") == "<3000>x"
    assert safe("x" * 600).endswith("...")
    assert clipped("piston", 4) == "pis…"
    assert clipped("piston", 0) == ""
    assert padded("a\x07", 7) == "a<07>  "
    assert padded("ab", 4, right=True) == "  ab"
    assert plain("[red]x[/]").plain == "[red]x[/]"


def test_an_arc_of_metal_is_seen_as_well_below_as_above() -> None:
    def lit(centre_deg: float) -> int:
        scene = PolarScene(limit_g=1.0, arcs=(Arc(centre_deg, 110.0),))
        rows = polar_rows(scene, width=41, height=21, glyphs=GLYPH_SETS["quadrant"])
        return sum(span.end - span.start for row in rows for span in row.spans if "accent" in str(span.style))

    assert lit(0.0) > 20
    assert abs(lit(180.0) - lit(0.0)) <= 2
