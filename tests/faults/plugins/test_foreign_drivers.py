"""A foreign driver that does everything wrong: the bench is told in words, goes on, and nothing of it is left."""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from collections.abc import Iterator
from decimal import Decimal
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from drivers import driver_points, registry
from drivers.apart import plug_in
from drivers.apart.fingerprint import fingerprint
from drivers.apart.permits import Permits
from drivers.apart.plug_in import ApartReader, ApartScale, PlugInError, PlugInProcess
from drivers.contract import Condition, ExportFault, LineFault, Reading, SpinReading

HEAD = """
import ctypes, os, signal, sys, threading, time
from decimal import Decimal
from drivers.contract import Condition, ExportFault, LineFault, PlaneReading, Reading, SpinReading

class Scale:
    profile_name = "far"
    @classmethod
    def from_profile(cls, profile): return cls()
    def feed(self, chunk, at_ns):
        {feed}
    def link_lost(self): pass

class Reader:
    profile_name = "far"
    @classmethod
    def from_profile(cls, profile): return cls()
    def read(self, data):
        {feed}

def reading(value=Decimal("603.80"), at_ns=0, unit="g", condition=Condition.WEIGHT, steady=True, net=None, raw=b"x"):
    return Reading(at_ns, value, unit, condition, steady, net, raw)

def run(label="7", unit="g", angle=Decimal("10"), heavy=10.0, speed=500.0, plane="front"):
    return SpinReading(label, unit, (PlaneReading(plane, Decimal("0.1"), angle, heavy),), speed, "7")
"""


@pytest.fixture
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    """Write a foreign driver, and end what was started of it."""
    monkeypatch.syspath_prepend(str(tmp_path))
    made: list[ApartScale | ApartReader] = []

    def write(
        feed: str = "return [reading()]", *, head: str = "", kind: str = "scale", longest_s: float = 5.0
    ) -> ApartScale | ApartReader:
        (tmp_path / "far_driver.py").write_text(head + HEAD.replace("{feed}", feed))
        target = "far_driver:Scale" if kind == "scale" else "far_driver:Reader"
        process = PlugInProcess("far", target, kind=kind, longest_s=longest_s)
        made.append(ApartScale(process, name="far") if kind == "scale" else ApartReader(process, name="far"))
        return made[-1]

    yield write
    for one in made:
        one.close()


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def running_of(group: int) -> list[str]:
    """Return the processes of a group that are not dead, where the system lists them."""
    told = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if words[2] == str(group) and words[0] not in "ZX":
            told.append(path.parent.name)
    return told


def test_a_reading_comes_through_as_it_was_said(plant) -> None:
    scale = plant(
        "return [reading(Decimal('-0.10'), at_ns), LineFault(at_ns, chunk, 'dots', 'digits'), "
        "reading(None, at_ns, 'kg', Condition.OVERLOAD, None, True, chunk)]"
    )
    first, fault, last = scale.feed(b"\xff\x00 g\r\n", 77)
    assert first == Reading(77, Decimal("-0.10"), "g", Condition.WEIGHT, True, None, b"x")
    assert str(first.value) == "-0.10"
    assert fault == LineFault(77, b"\xff\x00 g\r\n", "dots", "digits")
    assert last == Reading(77, None, "kg", Condition.OVERLOAD, None, True, b"\xff\x00 g\r\n")
    scale.link_lost()
    assert scale.trouble == ""
    assert "far_driver" not in sys.modules


def test_a_run_comes_through_as_it_was_said(plant) -> None:
    reader = plant("return [run(), run('8', 'oz in', Decimal('359.9'), 0.0, None)]", kind="balancer")
    first, second = reader.read(b"anything")
    assert isinstance(first, SpinReading)
    assert (first.label, first.planes[0].angle, first.speed_rpm) == ("7", Decimal(10), 500.0)
    assert (second.label, second.unit, second.planes[0].heavy_angle_deg, second.speed_rpm) == ("8", "oz in", 0.0, None)


@pytest.mark.parametrize(
    ("feed", "words"),
    [
        ("raise ValueError('half a line')", "half a line"),
        ("sys.exit(0)", "asked its process to end"),
        ("os._exit(3)", r"ended \(code 3\)"),
        ("os.kill(os.getpid(), signal.SIGSEGV)", r"ended \(signal 11\)"),
        ("ctypes.string_at(1)", r"ended \(signal"),
        ("return [0] * 10**10", "memory"),
        ("return (bytearray(3 * 2**30) and [])", "memory"),
        ("raise BaseException", "BaseException"),
        ("return None", "NoneType, wanted a list"),
        ("return ['603.8 g']", "str, wanted Reading"),
        ("return [reading(Decimal('NaN'))]", "answered is none"),
        ("return [reading(float('nan'))]", "answered is none"),
        ("return [reading(Decimal('Infinity'))]", "answered is none"),
        ("return [reading(Decimal('1e40'))]", "answered is none"),
        ("return [reading(None)]", "with the number None"),
        ("return [reading('603.8')]", "ValueError"),
        ("return [reading(unit='')]", "answered is none"),
        (r"return [reading(unit='g\x1b[2J')]", "answered is none"),
        (r"return [reading(unit='g\u202e')]", "answered is none"),
        ("return [reading(steady='yes')]", "answered is none"),
        ("return [reading(at_ns=10**18)]", "later than now"),
        ("return [reading(at_ns=-5)]", "answered is none"),
        ("return [reading(raw='text')]", "TypeError"),
        ("return [reading(raw=b'x' * 4000)]", "answered is none"),
        ("return [reading(condition='heavy')]", "answered is none"),
        ("return [reading()] * 50_000", "answered is none"),
        ("return [run()]", "SpinReading, wanted Reading"),
        ("return [LineFault(0, b'', 'x' * 10**7, 'y')]", "answered without end"),
    ],
)
def test_what_a_scale_driver_does_wrong_ends_it_in_words(plant, feed: str, words: str) -> None:
    scale = plant(feed)
    (fault,) = scale.feed(b"603.8 g\r\n", 1000)
    assert isinstance(fault, LineFault)
    assert fault.found.startswith("the plug-in far was ended: ")
    assert re.search(words, fault.found), fault.found
    assert fault.found.isprintable()
    assert not alive(scale._process.pid)
    # and it is said once; the bench goes on, and nothing more is asked of it
    assert scale.feed(b"603.8 g\r\n", 1001) == []
    scale.link_lost()
    assert scale.trouble == fault.found


@pytest.mark.parametrize(
    "feed",
    [
        "return [run(angle=Decimal('NaN'))]",
        "return [run(heavy=float('nan'))]",
        "return [run(heavy=float('inf'))]",
        "return [run(heavy=360.0)]",
        "return [run(heavy=-0.5)]",
        "return [run(heavy='10')]",
        "return [run(unit='tons')]",
        "return [run(speed=-1.0)]",
        "return [run(plane='')]",
        "return [run(label=None)]",
        "return [run(), ExportFault(1, 'a', 'b', 'c')]",
        "return [reading()]",
        "raise SystemExit",
    ],
)
def test_what_a_reader_does_wrong_ends_it_in_words(plant, feed: str) -> None:
    reader = plant(feed, kind="balancer")
    for _ in range(2):
        (fault,) = reader.read(b"7")
        assert isinstance(fault, ExportFault)
        assert "was ended" in fault.found
        assert "ask whoever made it" in fault.do
    assert not alive(reader._process.pid)


@pytest.mark.parametrize(
    ("feed", "kind"),
    [
        ("while True: pass", "scale"),
        ("time.sleep(1e6)", "balancer"),
        ("[signal.signal(s, signal.SIG_IGN) for s in (signal.SIGTERM, signal.SIGINT)]; time.sleep(1e6)", "scale"),
        ("os.fork() and os._exit(0); time.sleep(1e6)", "scale"),
        ("pow(7, 10**9)", "scale"),
    ],
)
def test_one_that_never_answers_is_ended_after_its_time(plant, feed: str, kind: str) -> None:
    driver = plant(feed, kind=kind, longest_s=1.0)
    begun = time.monotonic()
    (fault,) = driver.feed(b"x", 5) if kind == "scale" else driver.read(b"x")
    assert 0.9 < time.monotonic() - begun < 4.0
    assert "no answer within 1 s" in fault.found
    assert not alive(driver._process.pid)
    until = time.monotonic() + 5.0  # nor anything that it started, once the system has seen to it
    while running_of(driver._process.pid):
        assert time.monotonic() < until
        time.sleep(0.02)


def test_five_seconds_are_given() -> None:
    assert plug_in.LONGEST_ANSWER_S == 5.0


def test_a_large_output_to_all_that_is_open_goes_nowhere(plant, capfd: pytest.CaptureFixture[str]) -> None:
    scale = plant(
        "[os.write(n, b'\\x1b[2J' * 250_000) for n in (1, 2) for _ in range(500)]; "
        "print('\\x1b]0;mine\\x07' * 1000); sys.__stdout__.write('forged'); sys.stdout.flush(); return [reading()]"
    )
    assert [item.value for item in scale.feed(b"x", 9)] == [Decimal("603.80")]  # 1 GB of it
    told = capfd.readouterr()
    assert told.out == told.err == ""


def test_it_gets_no_terminal_no_keys_and_no_secret(plant, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PGPASSWORD", "open sesame")
    scale = plant(
        "gone = [n for n in ('PGPASSWORD', 'SPINLEDGER_HOME') if n in os.environ]; "
        "gone += [sys.stdin.read(), os.getsid(0) != os.getpid()]; "
        "return [LineFault(at_ns, b'', repr(gone), '')]"
    )
    (fault,) = scale.feed(b"x", 9)
    assert fault.found == "['', False]"


def test_forged_answers_on_its_pipe_are_none(plant) -> None:
    scale = plant(
        '[os.write(n, b\'{"n":1,"readings":[]}\\n\') for n in range(3, 20) '
        "if os.path.exists(f'/proc/self/fd/{n}') and os.stat(f'/proc/self/fd/{n}').st_mode & 0o10000 "
        "and open(f'/proc/self/fdinfo/{n}').read().split()[3][-1] == '1']; return [reading()]"
    )
    (fault,) = scale.feed(b"x", 9)
    assert "answer to question 1 instead of 2" in fault.found


def test_escape_codes_in_its_words_become_marks(plant) -> None:
    scale = plant(r"return [LineFault(at_ns, b'', 'a\x1b]0;mine\x07b\u202e', '\x9b2J')]")
    (fault,) = scale.feed(b"x", 9)
    assert fault.found == "a\\x1b]0;mine\\x07b\\u202e"
    assert fault.wanted == "\\x9b2J"
    reader = plant(r"return [run(label='\x1b[2J', plane='a\x07')]", kind="balancer")
    (run,) = reader.read(b"x")
    assert (run.label, run.planes[0].plane) == ("\\x1b[2J", "a\\x07")


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("raise OSError('library missing')", "library missing"),
        ("import sys; sys.exit()", "asked its process to end"),
        ("import os; os.abort()", "ended (signal 6)"),
        ("x = (", "SyntaxError"),
        ("import no_such_module_anywhere", "no_such_module_anywhere"),
        ("import time; time.sleep(60)", "no answer within 1.5 s"),
        ("while True: pass", "no answer within 1.5 s"),
        ("import sys; sys.stdout.close(); raise SystemError('\\x1b[2J')", "\\x1b[2J"),
        ("del Scale", "NameError"),
    ],
)
def test_one_that_does_not_start_is_told(plant, head: str, words: str) -> None:
    with pytest.raises(PlugInError) as told:
        plant(head=head + "\n", longest_s=1.5)
    assert words in told.value.words
    assert told.value.words.isprintable()


def test_one_that_is_killed_from_outside_is_told_and_nothing_hangs(plant) -> None:
    scale = plant()
    assert scale.feed(b"x", 1)
    os.kill(scale._process.pid, signal.SIGKILL)
    (fault,) = scale.feed(b"x", 2)
    assert "signal 9" in fault.found or "closed" in fault.found


def test_nothing_is_left_of_it_when_it_is_not_needed_any_more(plant) -> None:
    scale = plant()
    pid = scale._process.pid
    scale.close()
    assert not alive(pid)
    (fault,) = scale.feed(b"x", 2)
    assert "was ended" in fault.found


def test_what_it_left_compiled_is_not_what_runs(tmp_path: Path, plant) -> None:
    import py_compile

    plant("return [reading(Decimal('1'))]")
    source = tmp_path / "far_driver.py"
    py_compile.compile(str(source), doraise=True)
    stamp = source.stat()
    text = source.read_text().replace("Decimal('1')", "Decimal('2')")
    source.write_text(text)
    os.utime(source, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))  # the compiled copy looks as new as its source
    process = PlugInProcess("far", "far_driver:Scale", kind="scale")
    scale = ApartScale(process, name="far")
    (item,) = scale.feed(b"x", 9)
    scale.close()
    assert item.value == Decimal(2)


# -- leave to run -------------------------------------------------------------------------------------------


@pytest.fixture
def point(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> EntryPoint:
    monkeypatch.syspath_prepend(str(tmp_path))
    (tmp_path / "far_pack").mkdir()
    (tmp_path / "far_pack" / "__init__.py").write_text(HEAD.replace("{feed}", "return [reading()]"))
    (tmp_path / "far_pack" / "table.txt").write_text("1")
    ours = driver_points.entry_points
    point = EntryPoint("far", "far_pack:Scale", "spinledger.scales")

    def with_foreign(*, group: str) -> list[EntryPoint]:
        return [*ours(group=group), *([point] if group == point.group else [])]

    monkeypatch.setattr(driver_points, "entry_points", with_foreign)
    return point


def test_it_runs_as_it_was_allowed_and_is_asked_about_again_when_a_file_changed(
    point: EntryPoint, tmp_path: Path
) -> None:
    allowed = Permits({"far": fingerprint(point)})
    made = registry.make_scale_driver("far", allowed=allowed)
    assert isinstance(made, ApartScale)
    assert made.feed(b"x", 9)
    made.close()
    assert fingerprint(point) == allowed.files["far"]  # running leaves no file that counts
    for change in (
        lambda: (tmp_path / "far_pack" / "table.txt").write_text("2"),
        lambda: (tmp_path / "far_pack" / "more.py").write_text(""),
        lambda: (tmp_path / "far_pack" / "more.py").rename(tmp_path / "far_pack" / "fewer.py"),
    ):
        before = fingerprint(point)
        change()
        with pytest.raises(driver_points.PlugInFaultError, match=r"not what was allowed.*settings --set plugins"):
            registry.make_scale_driver("far", allowed=Permits({"far": before}))


def test_a_name_alone_is_no_leave_and_safe_mode_gives_none(point: EntryPoint) -> None:
    with pytest.raises(driver_points.DriverError, match="foreign and not named"):
        registry.make_scale_driver("far")
    with pytest.raises(driver_points.PlugInFaultError, match="not which files"):
        registry.make_scale_driver("far", allowed=Permits({"far": ""}))
    with pytest.raises(driver_points.PlugInFaultError, match="safe mode"):
        registry.make_scale_driver("far", allowed=Permits({"far": fingerprint(point)}, safe_mode=True))
    assert registry.make_scale_driver("plain-stream", allowed=Permits(safe_mode=True)).feed(b"", 0) == []
