"""Bad input to `calc`: exit 4 with the path of the field, nothing on stdout; no traceback and no silent answer."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.command_line.calc.runner import run
from bench.command_line.calc.subject import subject_named, subject_names

SUBJECTS = subject_names()
EXAMPLES = {name: json.loads(subject_named(name).example) for name in SUBJECTS}


def refused(subject: str, text: str) -> str:
    code, out, complaint = run(subject, text)
    assert (int(code), out) == (4, "")
    assert complaint.endswith("\n")
    assert "Traceback" not in complaint
    assert "pydantic" not in complaint
    return complaint


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(value, dict):
        return [leaf for key, inner in value.items() for leaf in leaves(inner, (*path, key))]
    if isinstance(value, list):
        return [leaf for index, inner in enumerate(value) for leaf in leaves(inner, (*path, index))]
    return [path]


def written(path: tuple[str | int, ...]) -> str:
    words = ""
    for part in path:
        words += f"[{part}]" if isinstance(part, int) else f".{part}" if words else part
    return words


def replaced(example: Any, path: tuple[str | int, ...], value: Any) -> Any:
    changed = copy.deepcopy(example)
    inner = changed
    for part in path[:-1]:
        inner = inner[part]
    inner[path[-1]] = value
    return changed


def numbers(subject: str) -> list[tuple[str | int, ...]]:
    def at(path: tuple[str | int, ...]) -> Any:
        value = EXAMPLES[subject]
        for part in path:
            value = value[part]
        return value

    return [path for path in leaves(EXAMPLES[subject]) if type(at(path)) in {int, float}]


FIELDS = [(subject, path) for subject in SUBJECTS for path in numbers(subject)]
IDS = [f"{subject}-{written(path)}" for subject, path in FIELDS]


@pytest.mark.parametrize("literal", ["NaN", "Infinity", "-Infinity", "1e999", '"12.5"', "true", "[1]", "{}", "null"])
@pytest.mark.parametrize(("subject", "path"), FIELDS, ids=IDS)
def test_what_is_no_finite_number_is_refused_by_its_path(
    subject: str, path: tuple[str | int, ...], literal: str
) -> None:
    text = json.dumps(replaced(EXAMPLES[subject], path, "HERE")).replace('"HERE"', literal)
    if literal == "null" and (subject, path[-1]) in {
        ("tolerance", "correction_radius_mm"), ("scale-check", "repeatability_g"), ("chart", "deviation"),
        ("unbalance", "radius_mm"), ("unbalance", "speed_rpm"), ("cuts", "centre_deg"), ("cuts", "diameter_mm"),
    }:  # fmt: skip
        # these may be left out, and null says so
        assert run(subject, text)[0] == 0
        return
    complaint = refused(subject, text)
    # a cut without its grams is not enough of a cut
    whole = {"depth_mm": "one of depth_mm", "grams": written(path[:-1])}.get(str(path[-1]), written(path))
    assert written(path) in complaint or (literal == "null" and whole in complaint)


@pytest.mark.parametrize("value", [0, -1, -0.5, 1e308, -1e308, 1e-308, 10**400])
@pytest.mark.parametrize(("subject", "path"), FIELDS, ids=IDS)
def test_extreme_numbers_are_refused_or_answered_with_finite_numbers(
    subject: str, path: tuple[str | int, ...], value: float
) -> None:
    code, out, complaint = run(subject, json.dumps(replaced(EXAMPLES[subject], path, value)))
    if code == 0:
        assert complaint == ""

        def refuse(word: str) -> None:
            raise AssertionError(word)

        json.loads(out, parse_constant=refuse)
    else:
        assert (int(code), out) == (4, "")
        # a field of the input: the one changed, or the other one that does not go with it
        assert complaint.startswith(tuple(EXAMPLES[subject]))


@pytest.mark.parametrize("value", [1e308, -1e308, 1.1e15, -1.1e15])
@pytest.mark.parametrize(("subject", "path"), FIELDS, ids=IDS)
def test_numbers_no_workshop_has_are_refused_by_their_path(
    subject: str, path: tuple[str | int, ...], value: float
) -> None:
    complaint = refused(subject, json.dumps(replaced(EXAMPLES[subject], path, value)))
    assert complaint.startswith(f"{written(path)}: found {value} · wanted")


def named(path: tuple[str | int, ...]) -> str:
    return str(path[-1] if isinstance(path[-1], str) else path[-2])


# a direction, a place along the rotor, the amount of a vector, a check of the scale may be anything
MAY_BE_NEGATIVE = {
    "amount", "angle_deg", "bank_deg", "centre", "centre_deg", "index_deg", "pin_deg", "planes", "position",
    "position_mm", "shown_g", "values",
}  # fmt: skip
# what is counted from 0, what was weighed with another part, what the scale does not show
MAY_BE_ZERO = MAY_BE_NEGATIVE | {
    "count", "empty_g", "locks", "oil", "pin", "plane", "reciprocating_share", "repeatability_g", "rings",
    "rod_bearing",
}  # fmt: skip


@pytest.mark.parametrize(
    ("subject", "path"),
    [field for field in FIELDS if field[0] != "cuts" and named(field[1]) not in MAY_BE_NEGATIVE],
    ids=lambda value: value if isinstance(value, str) else written(value),
)
def test_what_cannot_be_negative_or_nothing_is_refused_by_its_path(subject: str, path: tuple[str | int, ...]) -> None:
    for value in (-1, -0.001, 0) if named(path) not in MAY_BE_ZERO else (-1, -0.001):
        complaint = refused(subject, json.dumps(replaced(EXAMPLES[subject], path, value)))
        assert complaint.startswith(f"{written(path)}: found {value} · wanted")


def lists(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    deeper = [found for key, item in inner for found in lists(item, (*path, key))]
    return [path, *deeper] if isinstance(value, list) else deeper


def at(example: Any, path: tuple[str | int, ...]) -> Any:
    for part in path:
        example = example[part]
    return example


LISTS = [(subject, path) for subject in SUBJECTS if subject != "cuts" for path in lists(EXAMPLES[subject])]
LIST_IDS = [f"{subject}-{written(path)}" for subject, path in LISTS]


@pytest.mark.parametrize(("subject", "path"), LISTS, ids=LIST_IDS)
def test_an_empty_list_is_refused_by_its_path(subject: str, path: tuple[str | int, ...]) -> None:
    assert refused(subject, json.dumps(replaced(EXAMPLES[subject], path, []))).startswith(written(path))


# as many as a person may really have: checks of years, and masses along a shaft
LONG_LISTS = {("chart", "values"), ("transfer", "unbalances")}


@pytest.mark.parametrize(("subject", "path"), LISTS, ids=LIST_IDS)
def test_ten_thousand_of_anything(subject: str, path: tuple[str | int, ...]) -> None:
    many = [at(EXAMPLES[subject], path)[0]] * 10_000
    text = json.dumps(replaced(EXAMPLES[subject], path, many))
    if (subject, path[-1]) in LONG_LISTS:
        assert run(subject, text)[0] == 0
        return
    # what must match the list may be named instead of the list itself
    assert refused(subject, text).startswith((written(path), "index_deg"))


@pytest.mark.parametrize(
    ("subject", "path"),
    [
        (subject, tuple(path))
        for subject, *path in (
            ("unbalance", "unit"), ("unbalance", "to"), ("scale-check", "weight_class"),
            ("scale-check", "scale_class"),
        )
    ],
)  # fmt: skip
@pytest.mark.parametrize("word", ["", "stone", "G MM", "g·mm", "ounce inch", "M4", "iii", " ", "g mm "])
def test_a_wrong_word_is_refused_by_its_path(subject: str, path: tuple[str | int, ...], word: str) -> None:
    complaint = refused(subject, json.dumps(replaced(EXAMPLES[subject], path, word)))
    assert complaint.startswith(f"{written(path)}: found {word!r} · wanted")


MUST_BE_POSITIVE = {
    "bobweight": ["rods_per_throw"],
    "drill": ["diameter_mm", "amount_g_mm", "point_deg", "density_g_cm3", "outer_radius_mm"],
    "match": ["cylinders", "limit_g"],
    "rebuild": ["crank_radius_mm"],
    "scale-check": ["nominal_g", "division_g"],
    "shims": ["target_g", "tolerance_g"],
    "tolerance": ["grade_mm_per_s", "rotor_mass_kg", "speed_rpm", "correction_radius_mm"],
    "chart": ["deviation"],
    "unbalance": ["radius_mm", "speed_rpm"],
}


@pytest.mark.parametrize("value", [0, -1])
@pytest.mark.parametrize(
    ("subject", "field"), [(subject, field) for subject, fields in MUST_BE_POSITIVE.items() for field in fields]
)
def test_zero_and_negative_are_refused(subject: str, field: str, value: int) -> None:
    complaint = refused(subject, json.dumps({**EXAMPLES[subject], field: value}))
    assert complaint.startswith(f"{field}: found {value} · wanted")


@pytest.mark.parametrize("subject", SUBJECTS)
def test_a_field_nobody_knows_is_refused(subject: str) -> None:
    complaint = refused(subject, json.dumps({**EXAMPLES[subject], "colour": "red"}))
    assert complaint.startswith("colour: found 'red'")


@pytest.mark.parametrize("subject", SUBJECTS)
def test_a_field_left_out_is_named(subject: str) -> None:
    required = json.loads(run(subject, "", schema=True)[1])["in"].get("required", [])
    for field in required:
        rest = {key: value for key, value in EXAMPLES[subject].items() if key != field}
        assert f"{field}: found nothing" in refused(subject, json.dumps(rest))


ONE = {"amount": 1, "angle_deg": 0}
MANY_CYLINDERS = [{"pin_deg": 0, "bank_deg": 0, "position": 0}] * 10_000


@pytest.mark.parametrize(
    ("subject", "changed", "path"),
    [
        ("bobweight", {"reciprocating_share": 1.5}, "reciprocating_share"),
        ("bobweight", {"rods_per_throw": 2.5}, "rods_per_throw"),
        ("bobweight", {"rods_per_throw": 10_000}, "rods_per_throw"),
        ("bobweight", {"grams": {}}, "grams.piston"),
        ("bobweight", {"grams": {**EXAMPLES["bobweight"]["grams"], "piston_oz": 18.1}}, "grams.piston_oz"),
        ("bobweight", {"grams": {**EXAMPLES["bobweight"]["grams"], "rod_big_end": 400.0}}, "grams.rod_whole"),
        ("bobweight", {"grams": {**EXAMPLES["bobweight"]["grams"], "rod_whole": None}}, "grams.rod_whole"),
        ("bobweight", {"grams": {**EXAMPLES["bobweight"]["grams"], "rod_small_end": 900.0}}, "grams.rod_small_end"),
        ("bobweight", {"standard_uncertainty_g": {"piston": -0.1}}, "standard_uncertainty_g.piston"),
        (
            "bobweight",
            {"grams": dict.fromkeys([k for k in EXAMPLES["bobweight"]["grams"] if k != "rod_big_end"], 0)},
            "grams.piston: found 0 · wanted",
        ),
        ("engine", {"cylinders": []}, "cylinders: found []"),
        ("engine", {"cylinders": MANY_CYLINDERS}, "cylinders: found 10000 entries"),
        ("engine", {"layout": "v8"}, "either cylinders or the name"),
        ("engine", {"cylinders": None, "layout": "v99"}, "layout: found 'v99'"),
        ("engine", {"lambda": 0}, "lambda"),
        ("engine", {"lambda": 1}, "lambda"),
        (
            "engine",
            {"running": {"reciprocating_g": 1, "crank_radius_mm": 50, "rod_length_mm": 40, "speed_rpm": 1,
                         "mm_per_position": 1, "reciprocating_share": 0.5}},
            "running.rod_length_mm",
        ),
        ("influence", {"initial": []}, "initial"),
        ("influence", {"trials": []}, "trials"),
        ("influence", {"trials": [*EXAMPLES["influence"]["trials"]] * 2}, "trials: found 2"),
        (
            "influence",
            {"initial": [ONE, ONE],
             "trials": [{"plane": 0, "added": ONE, "readings": [ONE, {**ONE, "amount": 3}]}] * 2},
            "trials[1].plane",
        ),
        (
            "influence",
            {"initial": [ONE, ONE],
             "trials": [{"plane": p, "added": ONE, "readings": [{**ONE, "amount": 3}, ONE]} for p in (0, 1)]},
            "planes 0 and 1 look alike",
        ),
        ("influence", {"trials": [{"plane": 0, "added": ONE, "readings": []}]}, "trials[0].readings"),
        ("influence", {"initial": [ONE] * 10_000}, "initial: found 10000 entries"),
        ("transfer", {"unbalances": []}, "unbalances"),
        ("transfer", {"planes": []}, "planes"),
        ("transfer", {"planes": [5, 5]}, "planes: found [5.0, 5.0]"),
        ("transfer", {"planes": [1, 2, 3]}, "planes"),
        (
            "transfer",
            {"unbalances": [{"amount": 1.7e308, "angle_deg": 0, "position": 0}] * 2, "planes": [0]},
            "unbalances[1].amount: found 1.7e+308",
        ),
        ("cuts", {"history": []}, "history: found []"),
        ("cuts", {"history": EXAMPLES["cuts"]["history"][:2]}, "history[1]: found 'cuts without their run'"),
        ("cuts", {"history": EXAMPLES["cuts"]["history"][1:]}, "history[0]: found 'cuts' · wanted a run before"),
        ("cuts", {"history": [{}]}, "history[0]: found {} · wanted: either run or cuts"),
        ("cuts", {"history": [{"run": [ONE]}]}, "history[0].run: found '1 vectors' · wanted 2"),
        *(
            ("cuts", {"history": [{"run": [ONE, ONE]}, {"cuts": [{"station": "rear 1", "angle_deg": 0, **made}]}]}, f"history[1].cuts[0]{field}: found")
            for made, field in (
                ({"grams": -5}, ".grams"),
                ({"grams": 0}, ".grams"),
                ({"heavy_g": -5}, ".heavy_g"),
                ({"grams": 5, "heavy_g": 5}, ""),
                ({}, ""),
                ({"diameter_mm": 12, "from_depth_mm": 12, "depth_mm": 10}, ".depth_mm"),
            )
        ),
        (
            "cuts",
            {"history": [{"run": [ONE, ONE]}, {"cuts": [{"station": "s9", "angle_deg": 0, "grams": 1}]}]},
            "history[1].cuts[0].station: found 's9' · wanted one of front 1, rear 1",
        ),
        (
            "cuts",
            {"history": [{"run": [ONE, ONE]},
                         {"cuts": [{"station": "rear 1", "angle_deg": 0, "diameter_mm": 12, "depth_mm": 40}]}]},
            "history[1].cuts[0].depth_mm: found 40.0 · wanted at most 32 mm: the depth limit set for this place",
        ),
        ("cuts", {"stations": EXAMPLES["cuts"]["stations"][:1]}, "stations: found 'none in plane 1'"),
        ("cuts", {"stations": EXAMPLES["cuts"]["stations"][:1] * 2}, "stations[1].name: found 'front 1'"),
        (
            "cuts",
            {"stations": [{**EXAMPLES["cuts"]["stations"][0], "arc_deg": 8}, EXAMPLES["cuts"]["stations"][1]]},
            "stations[0].arc_deg: found 8.0 · wanted more than",
        ),
        ("cuts", {"planes": [{**EXAMPLES["cuts"]["planes"][0], "position_mm": 450}, EXAMPLES["cuts"]["planes"][1]]},
         "planes[1].position_mm: found 450.0"),
        ("cuts", {"trust": "blind"}, "trust: found 'blind'"),
        ("index", {"index_deg": [0]}, "index_deg"),
        ("index", {"index_deg": [0, 90, 180]}, "index_deg: found 3"),
        ("index", {"index_deg": [30, 390]}, "index_deg: found [30.0, 390.0]"),
        ("index", {"readings": []}, "readings"),
        ("tolerance", {"distances_mm": {"a": 10}}, "distances_mm.b"),
        ("tolerance", {"distances_mm": {"a": 0, "b": 5}}, "distances_mm.a"),
        ("tolerance", {"grade_mm_per_s": 1e308, "rotor_mass_kg": 1e307}, "grade_mm_per_s: found 1e+308"),
        ("drill", {"depth_mm": 10}, "one of depth_mm, amount_g_mm and grams"),
        ("drill", {"amount_g_mm": None}, "one of depth_mm, amount_g_mm and grams"),
        ("drill", {"amount_g_mm": 1e6}, "amount_g_mm: found 1000000.0 · wanted at most"),
        ("drill", {"amount_g_mm": 0.001}, "amount_g_mm: found 0.001 · wanted at least"),
        ("drill", {"diameter_mm": 200}, "diameter_mm"),
        ("drill", {"slug_density_g_cm3": 2.7}, "slug_density_g_cm3"),
        ("drill", {"point_deg": 181}, "point_deg"),
        ("match", {"cylinders": 10_000}, "cylinders: found 10000"),
        ("match", {"cylinders": 5}, "kinds.piston.grams: found 4"),
        ("match", {"kinds": {}}, "kinds: found {}"),
        ("match", {"kinds": {"pin": {"grams": [], "loose": True}}}, "kinds.pin.grams"),
        ("match", {"kinds": {"pin": {"grams": [1, 2, 3, -4], "loose": True}}}, "kinds.pin.grams[3]"),
        ("match", {"kinds": {"pin": {"grams": [1, 2, 3, 4], "loose": "yes"}}}, "kinds.pin.loose"),
        ("match", {"throws": [[1, 2], [2, 3, 4]]}, "throws"),
        ("match", {"floors_g": {"pin": 0}}, "floors_g.pin"),
        ("shims", {"stock": {}}, "stock: found {}"),
        ("shims", {"empty_g": 5000}, "empty_g: found 5000"),
        ("shims", {"stock": {"w": {"grams": 1, "count": -1}}}, "stock.w.count"),
        ("rebuild", {"throws": []}, "throws"),
        ("rebuild", {"planes": [{"position_mm": 0, "radius_mm": 10}] * 2}, "planes: found [0.0, 0.0]"),
        ("rebuild", {"planes": [{"position_mm": 0, "radius_mm": 0}]}, "planes[0].radius_mm"),
        ("scale-check", {"weight_class": "gold"}, "weight_class"),
        ("scale-check", {"scale_class": "V"}, "scale_class"),
        ("scale-check", {"nominal_g": 1001}, "nominal_g: found 1001"),
        ("scale-check", {"division_g": 0.0001}, "nominal_g"),
        ("chart", {"values": []}, "values"),
        ("chart", {"values": [1, 1, 1], "deviation": None}, "deviation"),
        ("chart", {"weight": 0}, "weight"),
        ("unbalance", {"unit": "stone yard"}, "unit: found 'stone yard' · wanted"),
        ("unbalance", {"to": "g  mm"}, "to: found"),
    ],
)  # fmt: skip
def test_bad_input_is_named(subject: str, changed: dict[str, Any], path: str) -> None:
    complaint = refused(subject, json.dumps({**EXAMPLES[subject], **changed}))
    assert path in complaint
    assert len(complaint) < 2000


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "(line 1, column 1)"),
        ("{", "(line 1, column"),
        ("[]", "(whole input): found list"),
        ("3", "(whole input): found int"),
        ("null", "(whole input): found NoneType"),
        ('{"a": 1, "a": 2}', "'a': found twice"),
        ("[" * 100_000, "nested too deep"),
        ('{"a": ' * 100_000, "nested too deep"),
        ('{"speed_rpm": ' + "9" * 5000 + "}", "a number too long"),
        ('{"speed_rpm": 1} x', "(line 1, column"),
        ('{"\\u001b[31m": 1}', "\\x1b[31m"),
    ],
)
def test_what_is_no_json_object_is_refused(text: str, words: str) -> None:
    assert words in refused("tolerance", text)


def test_text_from_outside_is_shown_without_its_escape_codes() -> None:
    complaint = refused("unbalance", json.dumps({**EXAMPLES["unbalance"], "unit": "\x1b]0;x\x07" + "y" * 500}))
    assert "\x1b" not in complaint
    assert "\x07" not in complaint
    assert "…" in complaint


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(FIELDS), json_values)
def test_any_value_in_any_field_is_answered_or_refused(field: tuple[str, tuple[str | int, ...]], value: Any) -> None:
    subject, path = field
    code, out, complaint = run(subject, json.dumps(replaced(EXAMPLES[subject], path, value)))
    assert int(code) in {0, 4}
    assert bool(out) == (code == 0)
    assert bool(complaint) == (code == 4)


def test_subjects_of_others_have_examples_too() -> None:
    for name in subject_names():
        assert run(name, subject_named(name).example)[0] == 0
