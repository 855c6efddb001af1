"""The subjects of `calc`: their answers, schemas and worked examples, and what they load."""

from __future__ import annotations

import argparse
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from bench.command_line.calc import runner
from bench.command_line.calc.runner import add_arguments, main, run
from bench.command_line.calc.subject import subject_named, subject_names

OURS = (
    "bobweight", "chart", "cuts", "drill", "engine", "index", "influence", "match", "rebuild", "scale-check", "shims",
    "tolerance", "transfer", "unbalance",
)  # fmt: skip


def answered(subject: str, asked: dict[str, Any]) -> dict[str, Any]:
    code, out, complaint = run(subject, json.dumps(asked))
    assert (code, complaint) == (0, "")
    assert out.endswith("}\n")
    assert out.count("\n") == 1
    answer: dict[str, Any] = json.loads(out)
    return answer


def flat(value: Any, path: str = "") -> dict[str, Any]:
    if isinstance(value, dict):
        return {k: v for key, inner in value.items() for k, v in flat(inner, f"{path}.{key}").items()}
    if isinstance(value, list):
        return {k: v for index, inner in enumerate(value) for k, v in flat(inner, f"{path}[{index}]").items()}
    return {path: value}


def same(one: Any, other: Any) -> bool:
    left, right = flat(one), flat(other)
    assert left.keys() == right.keys()
    return all(
        value == pytest.approx(right[key], rel=1e-9, abs=1e-9) if isinstance(value, float) else value == right[key]
        for key, value in left.items()
    )


def calc_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="spinledger calc")
    add_arguments(parser)
    return parser


def worked_examples(text: str) -> list[tuple[str, str, str]]:
    """Read each example out of the help, as a person would."""
    found: list[tuple[str, str, str]] = []
    for part in text.split("$ spinledger calc ")[1:]:
        command, _, rest = part.partition(" <<'END'\n")
        asked, _, rest = rest.partition("\nEND\n")
        found.append((command, asked, rest.partition("\n\n")[0].strip()))
    return found


def test_every_subject_is_there() -> None:
    assert set(OURS) <= set(subject_names())


WORKED = worked_examples(calc_parser().format_help())


@pytest.mark.parametrize(("subject", "asked", "shown"), WORKED, ids=[subject for subject, _, _ in WORKED])
def test_worked_example_of_the_help(subject: str, asked: str, shown: str) -> None:
    code, out, complaint = run(subject, asked)
    assert (code, complaint) == (0, "")
    assert same(json.loads(out), json.loads(shown))


def test_help_has_one_example_a_subject() -> None:
    assert [subject for subject, _, _ in WORKED] == list(subject_names())


@pytest.mark.parametrize("subject", subject_names())
def test_help_of_a_subject_shows_its_example_alone(subject: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        calc_parser().parse_args([subject, "--help"])
    assert left.value.code == 0
    assert worked_examples(capsys.readouterr().out) == [example for example in WORKED if example[0] == subject]


@pytest.mark.parametrize("subject", OURS)
def test_schema_describes_what_comes_in_and_goes_out(subject: str) -> None:
    code, out, complaint = run(subject, "", schema=True)
    assert (code, complaint) == (0, "")
    schemas = json.loads(out)
    example = json.loads(subject_named(subject).example)
    assert set(example) <= set(schemas["in"]["properties"])
    assert set(schemas["in"].get("required", [])) <= set(example)
    assert set(answered(subject, example)) <= set(schemas["out"]["properties"])
    assert schemas["in"]["additionalProperties"] is False


PARTS = {
    "piston": 603.7, "rings": 30.1, "pin": 188.5, "locks": 2.9, "rod_small_end": 250.0, "rod_whole": 818.2,
    "rod_bearing": 50.1, "oil": 6.0,
}  # fmt: skip


def test_bobweight() -> None:
    # common practice, no source: 2317.8 g
    asked: dict[str, Any] = {"rods_per_throw": 2, "reciprocating_share": 0.5, "grams": PARTS}
    answer = answered("bobweight", asked)
    assert answer["bobweight_g"] == pytest.approx(2317.8, abs=1e-9)
    assert answer["rotating_g"] == pytest.approx(1242.6, abs=1e-9)
    assert answer["reciprocating_g"] == pytest.approx(1075.2, abs=1e-9)
    assert "standard_uncertainty_g" not in answer
    assert sum(line["contribution_g"] for line in answer["lines"]) == pytest.approx(answer["bobweight_g"])
    assert all(line["grams"] * line["factor"] == line["contribution_g"] for line in answer["lines"])
    asked["standard_uncertainty_g"] = {"rod_whole": 0.1, "rod_small_end": 0.1, "rod_bearing": 0.1}
    # 2, -1 and 2 times 0.1 g
    assert answered("bobweight", asked)["standard_uncertainty_g"] == pytest.approx(0.3)
    hung = {**{k: v for k, v in PARTS.items() if k != "rod_whole"}, "rod_big_end": 568.2}
    every = dict.fromkeys((*PARTS, "rod_big_end"), 0.1)
    asked = {**asked, "grams": hung, "standard_uncertainty_g": every}
    answer = answered("bobweight", asked)
    assert answer["bobweight_g"] == pytest.approx(2317.8, abs=1e-9)
    # five reciprocating parts once, big end and shells twice, oil once
    assert answer["standard_uncertainty_g"] == pytest.approx(0.1 * (5 + 4 + 4 + 1) ** 0.5)


def test_engine() -> None:
    cylinders = [
        {"pin_deg": pin, "bank_deg": bank, "position": z}
        for pin, z in zip((0, 90, 270, 180), (-1.5, -0.5, 0.5, 1.5), strict=True)
        for bank in (-45, 45)
    ]
    answer = answered("engine", {"cylinders": cylinders})
    # table of free forces, Bosch Automotive Handbook, from memory: sqrt(10) and 0
    assert answer["first_order"]["couple"]["forward"]["amount"] == pytest.approx(10**0.5)
    assert answer["first_order"]["couple"]["backward"]["amount"] == pytest.approx(0.0, abs=1e-12)
    assert answer["rotating"]["force"] == {"amount": 0.0, "angle_deg": 0.0}
    assert answer["first_order"]["couple"]["peak"] == pytest.approx(10**0.5)
    assert answer["first_order"]["couple"]["least"] == pytest.approx(10**0.5)
    assert answer["second_order"]["force"]["peak"] == 0.0
    assert "left_over_newtons" not in answer
    assert same(answered("engine", {"layout": "v8-90-cross-plane"}), answer)
    plane = answered("engine", {"layout": "inline-4", "lambda": 0.25})
    assert plane["second_order"]["force"]["peak"] == pytest.approx(4.0)
    assert plane["second_order_times_lambda"]["force"]["peak"] == pytest.approx(1.0)
    running = {
        "reciprocating_g": 11_500, "crank_radius_mm": 75, "rod_length_mm": 300, "speed_rpm": 500,
        "mm_per_position": 100, "reciprocating_share": 0.0,
    }  # fmt: skip
    # Khurmi and Gupta, ch. 22 (inputs from memory, derived)
    left = answered("engine", {"layout": "v2-90", "running": running})["left_over_newtons"]
    assert left["second_order"]["force"]["peak"] == pytest.approx(836.009773915074)


def test_influence() -> None:
    # Rao, Mechanical Vibrations, Example 9.2, from memory: unbalance 10.0561 at 145.5548 in the left plane
    asked = {
        "initial": [{"amount": 8.5, "angle_deg": 60}, {"amount": 6.5, "angle_deg": 205}],
        "trials": [
            {
                "plane": 0,
                "added": {"amount": 10, "angle_deg": 270},
                "readings": [{"amount": 6.0, "angle_deg": 125}, {"amount": 4.5, "angle_deg": 230}],
            },
            {
                "plane": 1,
                "added": {"amount": 12, "angle_deg": 180},
                "readings": [{"amount": 6.0, "angle_deg": 35}, {"amount": 10.5, "angle_deg": 160}],
            },
        ],
    }
    answer = answered("influence", asked)
    assert answer["remove"][0] == pytest.approx({"amount": 10.0561, "angle_deg": 145.5548}, abs=1e-4)
    assert answer["add"][0] == pytest.approx({"amount": 10.0561, "angle_deg": 325.5548}, abs=1e-4)
    assert same(answer["add"], answer["add_to_initial"])
    assert answer["influence"][0][1]["amount"] == pytest.approx(0.33131268507783407)
    assert max(reading["amount"] for reading in answer["predicted"]) < 1e-12
    left_on = answered("influence", {**asked, "trial_weights_left_on": True})
    assert not same(left_on["add"], left_on["add_to_initial"])


def test_transfer_and_index() -> None:
    # Xie, slides, ch. 4, printed: -2.5 and 1.5 must be added
    answer = answered(
        "transfer", {"unbalances": [{"amount": 1, "angle_deg": 0, "position": 0.1}], "planes": [0.4, 0.6]}
    )
    assert answer["add"][0] == pytest.approx({"amount": 2.5, "angle_deg": 180.0})
    assert answer["add"][1] == pytest.approx({"amount": 1.5, "angle_deg": 0.0}, abs=1e-9)
    nothing = answered("transfer", {"unbalances": [{"amount": 0, "angle_deg": 5, "position": 0}], "planes": [0]})
    assert nothing == {"unbalance": [{"amount": 0.0, "angle_deg": 0.0}], "add": [{"amount": 0.0, "angle_deg": 0.0}]}
    readings = [
        {"amount": 84.99146899082454, "angle_deg": 353.2732349458123},
        {"amount": 185.4088730314213, "angle_deg": 52.7642760796095},
    ]
    parts = answered("index", {"readings": readings, "index_deg": [0, 180]})
    assert parts["rotor"] == pytest.approx({"amount": 120, "angle_deg": 35})
    assert parts["tooling"] == pytest.approx({"amount": 80, "angle_deg": 260})


def test_tolerance() -> None:
    # ISO 1940-1:2003 annex, from memory: 8.0 um, 28 600, 10 700 and 17 900 g mm
    asked: dict[str, Any] = {"grade_mm_per_s": 2.5, "rotor_mass_kg": 3600, "speed_rpm": 3000}
    answer = answered("tolerance", {**asked, "distances_mm": {"a": 1500, "b": 900}, "correction_radius_mm": 500})
    assert answer["e_per_um"] == pytest.approx(8.0, rel=0.006)
    assert answer["U_per_g_mm"] == pytest.approx(28600, rel=0.006)
    assert [plane["U_per_g_mm"] for plane in answer["planes"]] == pytest.approx([10700, 17900], rel=0.006)
    assert answer["planes"][0]["grams_at_radius"] == pytest.approx(answer["planes"][0]["U_per_g_mm"] / 500)
    one = answered("tolerance", asked)
    assert one["planes"] == [{"U_per_g_mm": one["U_per_g_mm"]}]


def test_drill_in_all_three_directions() -> None:
    drill = {"diameter_mm": 12.7, "point_deg": 118, "density_g_cm3": 7.85, "outer_radius_mm": 88}
    by_depth = answered("drill", {**drill, "depth_mm": 25})
    # derived, flat face less the exact cap
    assert by_depth["volume_mm3"] == pytest.approx(3166.9217443593607 + 161.110384723604 - 7.260309434826442)
    for wish in ("amount_g_mm", "grams"):
        assert same(answered("drill", {**drill, wish: by_depth[wish]}), by_depth)
    slug = answered("drill", {**drill, "depth_mm": 25, "slug_density_g_cm3": 17.0})
    assert slug["grams"] / by_depth["grams"] == pytest.approx((17.0 - 7.85) / 7.85)


def test_match_shims_rebuild_and_scale() -> None:
    kinds = {
        "piston": {"grams": [512.4, 512.9, 511.8], "loose": False},
        "pin": {"grams": [118.9, 118.2, 118.3], "loose": True},
    }
    answer = answered("match", {"cylinders": 3, "kinds": kinds, "limit_g": 1.0, "throws": [[1, 2], [3]]})
    assert set(answer) >= {"throw_sums_g", "throw_spread_g", "proven", "bound_g", "within_limit"}
    alone = answered("match", {"cylinders": 3, "kinds": kinds, "limit_g": 0.4, "floors_g": {"pin": 118.0}})
    assert alone["assignment"]["piston"] == [0, 1, 2]
    # 512.4 + 118.3, 512.9 + 118.2, 511.8 + 118.9
    assert alone["assignment"]["pin"] == [2, 1, 0]
    assert alone["sums_g"] == pytest.approx([630.7, 631.1, 630.7])
    assert alone["spread_g"] == pytest.approx(0.4)
    assert alone["within_limit"]
    assert alone["take_off_g"]["pin"] == pytest.approx([0.9, 0.2, 0.3])
    pack = answered(
        "shims",
        {"stock": {"w": {"grams": 20, "count": 4}}, "target_g": 1040, "empty_g": 1000, "tolerance_g": 0.1},
    )
    assert pack["each_half"] == {"w": 1}
    chart = answered("chart", {"values": [100.0, 100.1, 100.0], "centre": 100.0})
    assert chart["deviation"] == pytest.approx(0.1 / 1.1283791670955126)
    unbalance = answered("unbalance", {"amount": 1, "unit": "oz in"})
    assert unbalance == {"amount": pytest.approx(720.077887375), "unit": "g mm"}
    check = answered(
        "scale-check",
        {"shown_g": 1000.1, "nominal_g": 1000, "weight_class": "M1", "division_g": 0.1, "scale_class": "II"},
    )
    assert "uncertainty" not in check


def command(*arguments: str) -> list[str]:
    program = (
        "import argparse, sys\n"
        "from bench.command_line.calc.runner import add_arguments, main\n"
        "parser = argparse.ArgumentParser()\n"
        "add_arguments(parser)\n"
        "code = main(parser.parse_args())\n"
        "print('loaded', *[m for m in ('numpy', 'scipy', 'textual', 'sqlite_utils') if m in sys.modules],"
        " file=sys.stderr)\n"
        "sys.exit(int(code))\n"
    )
    return [sys.executable, "-c", program, *arguments]


@pytest.mark.parametrize("subject", ["tolerance", "bobweight", "drill", "transfer", "index", "engine"])
def test_plain_subjects_load_nothing_heavy(subject: str) -> None:
    done = subprocess.run(
        command(subject), input=subject_named(subject).example, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0
    assert done.stderr.split() == ["loaded"]
    assert same(json.loads(done.stdout), json.loads(subject_named(subject).example_answer))


def test_a_wrong_subject_is_usage() -> None:
    done = subprocess.run(command("horoscope"), capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout) == (2, "")
    code, out, complaint = run("horoscope", "{}")
    assert (code, out) == (2, "")
    assert "bobweight" in complaint


def arguments(subject: str, file: str, *, schema: bool = False) -> argparse.Namespace:
    return argparse.Namespace(subject=subject, file=file, schema=schema)


def test_files_and_schemas(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = tmp_path / "asked.json"
    # a byte order mark, as some editors write it
    asked.write_bytes(b"\xef\xbb\xbf" + subject_named("tolerance").example.encode())
    assert main(arguments("tolerance", str(asked))) == 0
    assert "U_per_g_mm" in capsys.readouterr().out
    assert main(arguments("tolerance", "-", schema=True)) == 0
    assert set(json.loads(capsys.readouterr().out)) == {"in", "out"}


def test_files_that_cannot_be_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(arguments("tolerance", str(tmp_path / "none.json"))) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "none.json" in shown.err
    assert main(arguments("tolerance", str(tmp_path))) == 2
    wrong = tmp_path / "wrong.json"
    wrong.write_bytes(b'{"a": "\xff"}')
    assert main(arguments("tolerance", str(wrong))) == 4
    assert "UTF-8" in capsys.readouterr().err
    monkeypatch.setattr(runner, "LARGEST_INPUT", 5)
    assert main(arguments("tolerance", str(wrong))) == 4
    assert "found more than" in capsys.readouterr().err


def test_stdin(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    text = subject_named("bobweight").example.encode()
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text)))
    assert main(arguments("bobweight", "-")) == 0
    assert "bobweight_g" in capsys.readouterr().out


@pytest.mark.parametrize(("shows", "alarm"), [(30.0, ""), (50.0, "180° out")])
def test_heavy_metal_put_in_opposite_takes_off_what_the_run_shows(shows: float, alarm: str) -> None:
    # by hand: 10 g put in opposite to 40 g leave 30 g; 50 g mean that the readout shows where to add
    example = json.loads(subject_named("cuts").example)
    still = {"amount": 2, "angle_deg": 10}
    history = [
        {"run": [{"amount": 40, "angle_deg": 170}, still]},
        {"cuts": [{"station": "front 1", "angle_deg": 350, "heavy_g": 10}]},
        {"run": [{"amount": shows, "angle_deg": 170}, still]},
    ]
    told = answered("cuts", example | {"history": history})
    assert told["do"] == ("spin again" if alarm else "cut")
    assert alarm in told.get("alarm", "")
