"""Exports: taken whole and exact, or refused whole with the line."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from drivers.balancers.balancer_profile import AngleMeaning, BalancerProfile
from drivers.balancers.keyed_block import KeyedBlockReader
from drivers.balancers.text_lines import EXPORT_CAP
from drivers.contract import ExportFault, SpinReading
from drivers.profile import ProfileError, parse_profile
from drivers.registry import balancer_names, balancer_profile, make_export_reader
from tests.drivers.samples import COLUMNS, EXPORTS, KEYED, TABLE


def fault(name: str, data: bytes) -> ExportFault:
    items = make_export_reader(name).read(data)
    assert len(items) == 1, items
    assert isinstance(items[0], ExportFault), items
    return items[0]


def runs(name: str, data: bytes) -> list[SpinReading]:
    items = make_export_reader(name).read(data)
    assert all(isinstance(item, SpinReading) for item in items), items
    return [item for item in items if isinstance(item, SpinReading)]


def test_a_keyed_block() -> None:
    (run,) = runs("keyed-block", KEYED)
    assert (run.label, run.unit, run.speed_rpm) == ("3", "g", 500.0)
    assert [(p.plane, p.amount, p.angle, p.heavy_angle_deg) for p in run.planes] == [
        ("front", Decimal("12.34"), Decimal("238.5"), 238.5),
        ("rear", Decimal("4.10"), Decimal("12.0"), 12.0),
    ]
    assert run.raw == KEYED.decode().strip()


def test_several_runs_and_planes_in_another_order() -> None:
    lines = KEYED.splitlines(keepends=True)
    swapped = b"".join([lines[0].replace(b"3", b"4"), lines[3], lines[2], lines[4]])
    both = runs("keyed-block", KEYED + b"\n" + swapped)
    assert [run.label for run in both] == ["3", "4"]
    assert [plane.plane for plane in both[1].planes] == ["front", "rear"]
    assert both[1].speed_rpm is None


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_marks(end: bytes, mark: bytes) -> None:
    assert len(runs("keyed-block", mark + KEYED.replace(b"\n", end))) == 1


def test_sixteen_bit_text_with_its_mark() -> None:
    assert len(runs("keyed-block", b"\xff\xfe" + KEYED.decode().encode("utf-16-le"))) == 1
    assert "NUL" in fault("keyed-block", KEYED.decode().encode("utf-16-le")).found


@pytest.mark.parametrize(
    ("old", "new", "line", "found"),
    [
        (b"REAR AMOUNT 4.10 g ANGLE 12.0 deg\n", b"", 4, "planes front in run"),
        (b"REAR", b"FRONT", 4, "plane front a second time"),
        (b"REAR", b"SIDE", 4, "SIDE"),
        (b"4.10 g", b"4.10 oz", 4, "4.10 oz"),
        (b"4.10", b"4,100", 4, "4,100"),
        (b"4.10", b"nan", 4, "nan"),
        (b"4.10", b"-4.10", 4, "amount -4.10"),
        (b"12.0 deg", b"720 deg", 4, "angle 720"),
        (b"12.0 deg", b"-1 deg", 4, "angle -1"),
        (b"END RUN\n", b"", 5, "no end of the run that begins on line 1"),
        (b"END RUN\n", b"RUN 4\n", 5, "no end of the run that begins on line 1"),
        (b"RUN 3\n", b"", 1, "SPEED"),
        (b"SPEED 500 rpm", b"SPEED -5 rpm", 2, "speed -5"),
        (b"RUN 3", b"RUN 3\x00", 1, "NUL"),
        (b"RUN 3", b"RUN \xff", 1, "xff"),
        (b"RUN 3", b"RUN 3\x1b[2J\nX", 2, "X"),
        (b"RUN 3", b"RUN " + b"3" * 5000, 1, "5004 characters"),
    ],
)
def test_what_is_refused_says_where_and_what(old: bytes, new: bytes, line: int, found: str) -> None:
    told = fault("keyed-block", KEYED.replace(old, new, 1))
    assert told.line == line, told
    assert found in told.found, told
    assert told.wanted
    assert told.do
    assert "\x1b" not in told.found


def test_a_missing_plane_names_the_word_to_look_for() -> None:
    told = fault("keyed-block", KEYED.replace(b"REAR AMOUNT 4.10 g ANGLE 12.0 deg\n", b""))
    assert "rear (printed as 'REAR')" in told.wanted
    assert "nothing of this text was taken" in told.do


def test_a_machine_set_to_one_plane_prints_one_where_the_profile_says_so() -> None:
    told = balancer_profile("keyed-block")
    lone = b"".join(line for line in KEYED.splitlines(keepends=True) if not line.startswith(b"REAR"))
    reader = KeyedBlockReader(told.model_copy(update={"alone": "front"}))
    (run,) = reader.read(lone)
    assert isinstance(run, SpinReading)
    assert [(p.plane, p.amount) for p in run.planes] == [("front", Decimal("12.34"))]
    (both,) = reader.read(KEYED)
    assert isinstance(both, SpinReading)
    assert [p.plane for p in both.planes] == ["front", "rear"]
    # the other plane alone, or none, is no whole run
    far = b"".join(line for line in KEYED.splitlines(keepends=True) if not line.startswith(b"FRONT"))
    for broken in (far, lone.replace(lone.splitlines(keepends=True)[2], b"")):
        (refused,) = reader.read(broken)
        assert isinstance(refused, ExportFault)
    assert "also rear" in fault("keyed-block", lone).wanted


def test_an_ambiguous_number_is_shown_both_ways() -> None:
    told = fault("keyed-block", KEYED.replace(b"4.10", b"4,100"))
    assert "4.100 if the comma is the decimal sign, 4100 if it groups thousands" in told.do


@pytest.mark.parametrize("data", [b"", b"\r\n \t\r\n", b"\x1a"])
@pytest.mark.parametrize("name", EXPORTS)
def test_an_empty_text(name: str, data: bytes) -> None:
    assert fault(name, data).found == "an empty text"


def test_a_text_beyond_the_cap_is_refused_at_once() -> None:
    assert fault("keyed-block", b"x" * (EXPORT_CAP + 1)).line == 0


def test_a_table() -> None:
    first, second = runs("delimited-table", TABLE)
    assert (first.label, first.speed_rpm, first.unit) == ("3", 500.0, "g")
    front, rear = first.planes
    assert (front.amount, front.angle) == (Decimal("12.34"), Decimal("238.5"))
    assert front.heavy_angle_deg == pytest.approx(301.5)  # clockwise, shows the missing mass: 180 - 238.5, by hand
    assert rear.heavy_angle_deg == pytest.approx(168.0)
    assert second.planes[0].amount == Decimal("2.2")


@pytest.mark.parametrize(
    ("old", "new", "line", "found"),
    [
        (b"Rear g;", b"", 1, "no heading 'Rear g'"),
        (b"Rear g;", b"Rear g;Rear g;", 1, "2 times"),
        (b"4;510;1,1;", b"4;510;", 3, "5 cells"),
        (b"4;510", b'"4;510', 3, "4"),
        (b"1,1", b"1.1", 3, "1.1"),
        (b"1,1", b"", 3, '""'),
        (b"1,1", b"=1+1", 3, "=1+1"),
        (b"2,2;7", b"2,2;361", 3, "angle 361"),
    ],
)
def test_what_a_table_refuses(old: bytes, new: bytes, line: int, found: str) -> None:
    told = fault("delimited-table", TABLE.replace(old, new, 1))
    assert told.line == line, told
    assert found in told.found, told


def test_headings_may_move_and_further_columns_stand_beside() -> None:
    data = b"Note;Front at;Front g;Rear at;Rear g;Turns;Spin\nx;1;2;3;4;5;6\n"
    (run,) = runs("delimited-table", data)
    assert [(p.amount, p.angle) for p in run.planes] == [(Decimal(2), Decimal(1)), (Decimal(4), Decimal(3))]


def test_fixed_columns() -> None:
    first, second = runs("fixed-columns", COLUMNS)
    assert (first.label, second.label, first.unit) == ("3", "4", "g mm")
    # zero at 90, counter-clockwise seen from the rear is clockwise from the front: 90 - 238.5 = 211.5, by hand
    assert first.planes[0].heavy_angle_deg == pytest.approx(211.5)
    assert second.planes[1].heavy_angle_deg == pytest.approx(270.0)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        (b"412.34 gmm", b"412.34xgmm", "between the columns"),
        (b"4    B      4.00 gmm  180.0\n", b"", "planes front in run"),
        (b"412.34 gmm", b"412.34 oz ", "oz"),
    ],
)
def test_what_fixed_columns_refuse(old: bytes, new: bytes, found: str) -> None:
    assert old in COLUMNS
    assert found in fault("fixed-columns", COLUMNS.replace(old, new, 1)).found


@pytest.mark.parametrize(
    ("meaning", "shown", "heavy"),
    [
        # Each by hand: turn the machine's scale until it is counter-clockwise seen from the front.
        (("counter-clockwise", "front", "excess", 0.0), 30.0, 30.0),
        (("clockwise", "front", "excess", 0.0), 30.0, 330.0),
        (("counter-clockwise", "rear", "excess", 0.0), 30.0, 330.0),
        (("clockwise", "rear", "excess", 0.0), 30.0, 30.0),
        (("counter-clockwise", "front", "missing", 0.0), 30.0, 210.0),
        (("clockwise", "front", "excess", 90.0), 30.0, 60.0),
        (("counter-clockwise", "front", "excess", 0.0), 360.0, 0.0),
        (("clockwise", "front", "excess", 0.0), 1e-17, 0.0),
    ],
)
def test_the_meaning_of_angles(meaning: tuple[str, str, str, float], shown: float, heavy: float) -> None:
    sense, seen_from, shows, zero = meaning
    angle = AngleMeaning.model_validate({"sense": sense, "seen_from": seen_from, "shows": shows, "zero_deg": zero})
    assert angle.heavy_angle_deg(shown) == pytest.approx(heavy, abs=1e-9)
    assert 0.0 <= angle.heavy_angle_deg(shown) < 360.0


def test_clock_hours() -> None:
    angle = AngleMeaning(zero_deg=0, sense="clockwise", seen_from="front", shows="excess", scale="clock hours")
    assert angle.heavy_angle_deg(3.0) == pytest.approx(270.0)


TEN_LINES = b"""name = "mine"
driver = "keyed-block"
unit = "g"
planes = { L = "front", R = "rear" }
numbers = { decimal = "." }
angle = { zero_deg = 0, sense = "clockwise", seen_from = "front", shows = "excess" }
[block]
begin = "start {skip}"
end = "stop"
line = [ { text = "{plane} {amount} at {angle}", needed = true } ]
"""


def test_an_export_in_ten_lines_of_toml() -> None:
    reader = KeyedBlockReader.from_profile(parse_profile(TEN_LINES, BalancerProfile, where="mine.toml"))
    (run,) = reader.read(b"start now\nL 1.5 at 10\nR 2.5 at 20\nstop\n")
    assert isinstance(run, SpinReading)
    assert run.planes[1].heavy_angle_deg == pytest.approx(340.0)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"zero_deg = 0, ", b"", "angle.zero_deg: found nothing"),
        (b'decimal = "."', b'decimal = ";"', "numbers.decimal"),
        (b"{amount}", b"{amout}", "no field is called 'amout'"),
        (b'unit = "g"', b"", "names no unit"),
        (b"[block]", b"[block", "TOML"),
        (b'"mine"', b'"mine\xff"', "UTF-8"),
        (b'"mine"', b'"Mine Own"', "name: found"),
        (b'driver = "keyed-block"', b'driver = "keyed-block"\ncolour = 1', "colour"),
        (b'L = "front"', b'"" = "front"', "empty"),
    ],
)
def test_a_bad_profile_names_file_and_field(old: bytes, new: bytes, words: str) -> None:
    with pytest.raises(ProfileError, match=words) as caught:
        parse_profile(TEN_LINES.replace(old, new), BalancerProfile, where="mine.toml")
    assert str(caught.value).startswith("mine.toml")


@pytest.mark.parametrize("layout", ["block", "table", "columns"])
def test_a_profile_without_the_layout_its_driver_needs(layout: str) -> None:
    from drivers.balancers.delimited_table import DelimitedTableReader
    from drivers.balancers.fixed_columns import FixedColumnsReader

    makers = {"block": KeyedBlockReader, "table": DelimitedTableReader, "columns": FixedColumnsReader}
    bare = parse_profile(TEN_LINES.split(b"[block]")[0], BalancerProfile, where="mine.toml")
    with pytest.raises(ProfileError, match=layout):
        makers[layout](bare)


def changed(data: bytes, rng: random.Random) -> bytes:
    """Damage a text by bytes, lines or cells."""
    kind = rng.randrange(7)
    lines = data.splitlines(keepends=True)
    at, line = rng.randrange(len(data)), rng.randrange(len(lines))
    if kind == 0:
        return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
    if kind == 1:
        return data[:at] + data[at + rng.randrange(1, 30) :]
    if kind == 2:
        return b"".join(lines[:line] + lines[line + 1 :])
    if kind == 3:
        return b"".join(lines[: line + 1] + lines[line:])
    if kind == 4:
        rng.shuffle(lines)
        return b"".join(lines)
    if kind == 5:
        return data[:at]
    return data + data


def exact(run: SpinReading, data: bytes) -> bool:
    """Tell whether every number of a run stands in the text as a whole token."""
    text = data.decode("latin-1")
    for mark in ";\r\n":
        text = text.replace(mark, " ")
    words = {word.replace(",", ".").lstrip("+0") for word in text.split()}
    figures = [figure for plane in run.planes for figure in (plane.amount, plane.angle)]
    return all(str(figure).lstrip("0") in words for figure in figures)


def malformed(count: int, *, seed: int) -> tuple[int, int]:
    rng = random.Random(seed)
    taken = refused = 0
    readers = {name: make_export_reader(name) for name in balancer_names()}
    for _ in range(count):
        name = rng.choice(sorted(EXPORTS))
        data = changed(EXPORTS[name], rng)
        items = readers[name].read(data)
        if any(isinstance(item, ExportFault) for item in items):
            assert len(items) == 1
            refused += 1
            continue
        assert items
        for item in items:
            assert isinstance(item, SpinReading)
            assert len(item.planes) == 2
            assert exact(item, data), (item, data)
        taken += 1
    return taken, refused


def test_damaged_exports_are_taken_exactly_or_refused_whole() -> None:
    taken, refused = malformed(5_000, seed=41)
    assert taken
    assert refused


@pytest.mark.long
@pytest.mark.timeout(600)
def test_a_hundred_thousand_damaged_exports() -> None:
    taken, refused = malformed(100_000, seed=42)
    print(f"{taken} taken exactly, {refused} refused whole")
