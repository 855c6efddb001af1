"""Names without importing, one loaded, all with each one's fault; foreign drivers only when the settings name them."""

from __future__ import annotations

import subprocess
import sys
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers import driver_points, registry
from drivers.apart.leave import plug_in_print
from drivers.apart.permits import Permits
from drivers.contract import Condition, LineFault, Reading
from drivers.driver_report import driver_states
from drivers.number_style import NumberStyle
from drivers.registry import (
    DriverError,
    balancer_profile,
    drivers_seen,
    load_all,
    make_export_reader,
    make_scale_driver,
)
from drivers.scales.line_reading import LineReader
from drivers.scales.quick_form import QuickForm
from drivers.scales.scale_profile import ScaleProfile
from drivers.template import Template, Vocabulary
from tests.drivers.test_every_driver import stream

MODULE = """
class Good:
    profile_name = "good"
    @classmethod
    def from_profile(cls, profile): return cls()
    def feed(self, chunk, at_ns): return []
    def link_lost(self): pass
class Odd:
    @classmethod
    def from_profile(cls, profile): return object()
class Failing:
    @classmethod
    def from_profile(cls, profile): raise RuntimeError("no licence file")
class Unfit: pass
"""


@pytest.fixture
def foreign(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "far_scales.py").write_text(MODULE)
    (tmp_path / "broken_scales.py").write_text("raise OSError('library missing')")
    monkeypatch.syspath_prepend(str(tmp_path))
    ours = driver_points.entry_points

    def with_foreign(*, group: str) -> list[EntryPoint]:
        points = list(ours(group=group))
        if group == "spinledger.scales":
            points += [
                EntryPoint(name.lower(), f"far_scales:{name}", group)
                for name in ("Good", "Odd", "Failing", "Unfit", "Gone")
            ]
            points.append(EntryPoint("broken", "broken_scales:Scale", group))
        return points

    monkeypatch.setattr(driver_points, "entry_points", with_foreign)


def named(*names: str) -> Permits:
    """Return leave for plug-ins as they are now."""
    return Permits({name: "" if name == "missing" else plug_in_print(name) for name in names})


@pytest.mark.usefixtures("foreign")
def test_a_foreign_driver_loads_only_when_named() -> None:
    assert "good" in registry.scale_names()
    with pytest.raises(DriverError, match="not named in the settings"):
        make_scale_driver("good")
    assert make_scale_driver("good", allowed=named("good")).profile_name == "good"
    assert "far_scales" not in sys.modules
    assert {seen.name: seen.foreign for seen in drivers_seen("scale")}["good"]


@pytest.mark.usefixtures("foreign")
def test_one_that_fails_does_not_stop_the_rest() -> None:
    every = {"good", "odd", "failing", "unfit", "gone", "broken"}
    loaded = load_all("scale", allowed=named(*every))
    assert {"good", "plain-stream"} <= set(loaded.names)
    faults = {fault.name: fault.words for fault in loaded.faults}
    assert set(faults) == every - {"good"}
    assert "library missing" in faults["broken"]
    assert "no licence file" in faults["failing"]
    assert "does not keep the contract" in faults["odd"]
    assert "no from_profile" in faults["unfit"]
    assert all("Traceback" not in words for words in faults.values())


def test_unknown_names_list_the_known_ones() -> None:
    with pytest.raises(DriverError, match="plain-stream"):
        make_scale_driver("nothing")
    with pytest.raises(DriverError, match="keyed-block"):
        make_export_reader("nothing")
    with pytest.raises(DriverError, match="keyed-block"):
        balancer_profile("nothing")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('name = "other"\nnumbers = {decimal = "."}', "says name = 'other'"),
        ('name = "mine"', "numbers: found nothing"),
        ("name = ", "mend the file mine.toml"),
        ('name = "mine"\nnumbers = {decimal = "."}', r"\[\[line\]\]"),
        ('name = "mine"\ndriver = "none"\nnumbers = {decimal = "."}', "no scale driver is called that"),
        ('name = "mine"\ndriver = "print-key"\nnumbers = {decimal = "."}', "quiet_is_normal"),
        (
            'name = "mine"\ndriver = "print-key"\nnumbers = {decimal = "."}\nport = {quiet_is_normal = true}',
            "drop_first",
        ),
        ('name = "mine"\ndriver = "ask-and-answer"\nnumbers = {decimal = "."}', "port.ask"),
        ('name = "mine"\ndriver = "block"\nnumbers = {decimal = "."}', "place"),
        ('name = "mine"\nnumbers = {decimal = ",", thousands = ","}', "cannot group thousands"),
        ('name = "mine"\nunit = "g"\nnumbers = {decimal = "."}\nline = [{text = "{unit}"}]', "no {value} field"),
        ('name = "mine"\nunit = "g"\nnumbers = {decimal = "."}\nline = [{text = "wt {value?}"}]', "always there"),
        ('name = "mine"\nnumbers = {decimal = "."}\nline = [{text = "{value}"}]', "names no unit"),
        (
            'name = "mine"\nnumbers = {decimal = "."}\nchecksum = {kind = "xor"}\nunit = "g"\nline = [{text = "{value}"}]',
            "check",
        ),
    ],
)
def test_a_bad_profile_of_the_user_is_told_by_file_and_field(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "mine.toml").write_text(text)
    with pytest.raises(DriverError, match=words):
        make_scale_driver("mine", folder=tmp_path)
    assert [fault.name for fault in load_all("scale", folder=tmp_path).faults] == ["mine"]


def test_odd_profile_files(tmp_path: Path) -> None:
    (tmp_path / "big.toml").write_bytes(b"#" * 70_000)
    (tmp_path / "folder.toml").mkdir()
    faults = {fault.name: fault.words for fault in load_all("balancer", folder=tmp_path).faults}
    assert "64 kB" in faults["big"]
    assert "folder" in faults


def test_names_come_without_importing_a_driver() -> None:
    code = (
        "import sys; from drivers.registry import scale_names, balancer_names; scale_names(); balancer_names();"
        "print([m for m in ('drivers.scales.streaming', 'serial', 'hid', 'pymodbus', 'scipy', 'textual') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


FORMS = {
    "plain": "wt {value 8} {unit} {state}",
    "columns that touch": "{state 1}{value 9}{unit 2}",
    "a mark behind": "wt {value 8};{unit}",
    "open": "wt~{value} {unit} {state?}",
    "sign apart": "{sign}{value 7}{unit}",
}
PIECES = [
    "wt ",
    "603.8",
    "+00603.8",
    "   603.8",
    "  - 1.5",
    "603.8   ",
    " ",
    ";",
    "g",
    "g ",
    "still",
    "moves",
    "s",
    "-",
    "+",
    "S",
]


@given(
    st.sampled_from(list(FORMS)),
    st.text(alphabet="wt +-0123456789.;gstilmoves", max_size=24)
    | st.lists(st.sampled_from(PIECES), max_size=7).map("".join),
)
def test_the_short_way_reads_as_the_long_way(name: str, line: str) -> None:
    profile = ScaleProfile.model_validate(
        {
            "name": "x",
            "numbers": {"decimal": "."},
            "units": {"g": "g"},
            "state": {"steady": ["still", "S", "s"], "moving": ["moves"]},
            "unit": "g",
            "line": [{"text": FORMS[name]}, {"says": "no number", "text": "wt {skip 3}"}],
        }
    )
    reader = LineReader(profile)
    data = line.encode()
    long_way = reader.read(data, 3)
    for _ in range(2):
        items = reader.read_all([data], 3)
        assert items == ([] if long_way is None else [long_way])


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("plain", "wt +00603.8 g still"),
        ("columns that touch", "S    603.8g "),
        ("a mark behind", "wt +00603.8;g"),
        ("open", "wt 603.8 g "),
        ("sign apart", "-  603.8g"),
    ],
)
def test_the_usual_line_of_each_form_goes_the_short_way(name: str, line: str) -> None:
    words = {"unit": ["g"], "state": ["still", "S"], "sign": ["-", "+"]}
    template = Template(FORMS[name], Vocabulary(numbers={"value"}, words=words))
    meaning = (Condition.WEIGHT, None, "g", None, False)
    quick = QuickForm(template, NumberStyle(), lambda _: meaning)

    def long_way(line: object, at_ns: int) -> None:
        raise AssertionError(line)

    (reading,) = quick.read_all([line.encode()], 1, long_way)
    assert isinstance(reading, Reading)
    assert str(reading.value) == "603.8"


def test_faults_of_a_line_say_what_was_found_and_wanted() -> None:
    driver = make_scale_driver("checked-net-gross")
    (fault,) = [
        item for item in driver.feed(stream("checked-net-gross")[:12] + b"Z\x03", 0) if isinstance(item, LineFault)
    ]
    assert "check characters" in fault.found
    driver = make_scale_driver("plain-stream")
    items = driver.feed(b"\r\n" + b"x" * 500 + b"\r\nwt \xb5 g\r\n\r\nwt +00603.8 g still\r\n", 0)
    assert [type(item) for item in items] == [LineFault, LineFault, Reading]
    assert "more than 128 bytes" in str(items[0])
    assert "\\xb5" in str(items[1])


@pytest.mark.usefixtures("foreign")
def test_the_report_tells_each_driver_s_state_and_loads_no_plug_in_that_is_not_named(tmp_path: Path) -> None:
    sys.modules.pop("broken_scales", None)
    (tmp_path / "torn.toml").write_text('name = "torn"')
    told = {one.name: one for one in driver_states(folder=tmp_path, allowed=named("good", "failing", "odd", "missing"))}
    assert told["plain-stream"].state == told["streaming"].state == told["good"].state == "works"
    assert told["broken"].state == "not asked for"
    assert "plugins" in told["broken"].words
    assert "broken_scales" not in sys.modules
    assert told["torn"].state == "fails"
    assert "torn.toml" in told["torn"].words
    assert "no licence file" in told["failing"].words
    assert told["odd"].state == "fails"
    assert told["missing"].state == "fails"
    assert "install it" in told["missing"].words


def test_a_user_s_profile_is_listed_under_its_own_kind_only(tmp_path: Path) -> None:
    (tmp_path / "pan.toml").write_text(
        'name = "pan"\nunit = "g"\nnumbers = {decimal = "."}\nline = [{text = "{value}"}]'
    )
    (tmp_path / "spun.toml").write_text('name = "spun"\nplanes = {A = "front"}')
    assert "pan" in registry.scale_names(folder=tmp_path)
    assert "pan" not in registry.balancer_names(folder=tmp_path)
    assert "spun" in registry.balancer_names(folder=tmp_path)
    assert "spun" not in registry.scale_names(folder=tmp_path)
