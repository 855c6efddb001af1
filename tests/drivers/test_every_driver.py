"""What every driver and profile must keep, built in or not: a sweep over the entry points."""

from __future__ import annotations

import itertools
import random
import time
import tracemalloc
from collections import deque
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.contract import Condition, ExportFault, ExportReader, LineFault, Reading, ScaleDriver
from drivers.profile import parse_profile
from drivers.profile_writing import profile_toml
from drivers.registry import (
    balancer_names,
    balancer_profile,
    drivers_seen,
    load_all,
    make_export_reader,
    make_scale_driver,
    scale_names,
    scale_profile,
)
from tests.drivers.samples import EXPORTS, SCALES

Item = Reading | LineFault


def lead_in(name: str) -> bytes:
    """Return bytes that stand for the partial line a stream begins with."""
    profile = scale_profile(name)
    return b"tial\r\n" if profile.frame.drop_first and profile.line else b""


def stream(name: str) -> bytes:
    return lead_in(name) + b"".join(sent for sent, _ in SCALES[name])


def fed(driver: ScaleDriver, chunks: list[bytes]) -> list[Item]:
    return [item for chunk in chunks for item in driver.feed(chunk, 7)]


def test_every_profile_has_samples_and_every_driver_a_profile() -> None:
    assert set(scale_names()) == set(SCALES)
    assert set(balancer_names()) == set(EXPORTS)
    used = {scale_profile(name).driver for name in scale_names()}
    assert used == {seen.name for seen in drivers_seen("scale")}
    assert {balancer_profile(name).driver for name in balancer_names()} == {
        seen.name for seen in drivers_seen("balancer")
    }


def test_all_load_without_a_fault() -> None:
    assert not load_all("scale").faults
    assert not load_all("balancer").faults


@pytest.mark.parametrize("name", SCALES)
def test_a_scale_driver_keeps_the_contract(name: str) -> None:
    driver = make_scale_driver(name)
    assert isinstance(driver, ScaleDriver)
    assert driver.profile_name == name
    assert scale_profile(name).title
    items = driver.feed(stream(name), 7)
    readings = [item for item in items if isinstance(item, Reading)]
    assert len(readings) == len(SCALES[name]), items
    for reading, (sent, meaning) in zip(readings, SCALES[name], strict=True):
        assert meaning.fits(reading), reading
        assert reading.at_ns == 7
        assert b"".join(reading.raw.split()) in b"".join(sent.split())


@pytest.mark.parametrize("name", SCALES)
@given(data=st.data())
def test_cuts_never_change_the_readings(name: str, data: st.DataObject) -> None:
    noise = data.draw(st.binary(max_size=40))
    whole = stream(name) + noise + stream(name)
    places = sorted(data.draw(st.lists(st.integers(0, len(whole)), max_size=10)))
    chunks = [whole[a:b] for a, b in itertools.pairwise([0, *places, len(whole)])]
    assert fed(make_scale_driver(name), chunks) == make_scale_driver(name).feed(whole, 7)


@pytest.mark.parametrize("name", SCALES)
def test_every_single_cut_and_bytewise(name: str) -> None:
    whole = stream(name)
    wanted = make_scale_driver(name).feed(whole, 7)
    for cut in range(len(whole) + 1):
        assert fed(make_scale_driver(name), [whole[:cut], whole[cut:]]) == wanted
    assert fed(make_scale_driver(name), [bytes([byte]) for byte in whole]) == wanted


@pytest.mark.parametrize("name", SCALES)
def test_a_lost_link_forgets_the_unfinished_line(name: str) -> None:
    driver = make_scale_driver(name)
    whole = stream(name)
    for cut in range(1, len(whole)):
        driver.feed(whole[:cut], 1)
        driver.link_lost()
        items = driver.feed(stream(name), 7)
        assert [item for item in items if isinstance(item, Reading)] == [
            item for item in make_scale_driver(name).feed(stream(name), 7) if isinstance(item, Reading)
        ]


@pytest.mark.parametrize("name", SCALES)
def test_a_scale_profile_is_the_same_after_writing_and_reading(name: str) -> None:
    profile = scale_profile(name)
    assert parse_profile(profile_toml(profile).encode(), type(profile), where=name) == profile


@pytest.mark.parametrize("name", EXPORTS)
def test_a_balancer_profile_is_the_same_after_writing_and_reading(name: str) -> None:
    profile = balancer_profile(name)
    assert parse_profile(profile_toml(profile).encode(), type(profile), where=name) == profile


@pytest.mark.parametrize("name", EXPORTS)
def test_an_export_reader_keeps_the_contract(name: str) -> None:
    reader = make_export_reader(name)
    assert isinstance(reader, ExportReader)
    assert reader.profile_name == name
    assert balancer_profile(name).title
    runs = reader.read(EXPORTS[name])
    assert runs
    assert not any(isinstance(run, ExportFault) for run in runs), runs


def random_flood(name: str, size: int, *, seed: int) -> tuple[int, int, float, int]:
    """Feed random bytes; return readings, takes, megabytes a second and memory growth."""
    rng = random.Random(seed)
    driver = make_scale_driver(name)
    readings = takes = fed_bytes = 0
    last: deque[Decimal | None] = deque(maxlen=3)
    driver.feed(rng.randbytes(4096), 0)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    spent = 0.0
    while fed_bytes < size:
        chunk = rng.choice(
            [rng.randbytes(2048), b"\x00" * 2048, b"\xff" * 2048, rng.randbytes(2048).translate(_PRINTABLE)]
        )
        begun = time.perf_counter()
        items = driver.feed(chunk, 0)
        spent += time.perf_counter() - begun
        fed_bytes += len(chunk)
        for item in items:
            value = item.value if isinstance(item, Reading) else None
            readings += value is not None
            last.append(value)
            takes += value is not None and len(last) == 3 and len(set(last)) == 1
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    return readings, takes, fed_bytes / spent / 1e6, grown


_PRINTABLE = bytes(b"0123456789.+- gwt\r\nstilmoves"[byte % 28] for byte in range(256))


@pytest.mark.parametrize("name", SCALES)
def test_random_bytes_take_nothing(name: str) -> None:
    _, takes, _, grown = random_flood(name, 200_000, seed=11)
    assert takes == 0
    assert grown < 1_000_000


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("name", SCALES)
def test_ten_million_random_bytes_take_nothing(name: str) -> None:
    readings, takes, rate, grown = random_flood(name, 10_000_000, seed=12)
    print(f"{name}: {readings} readings, {takes} takes, {rate:.1f} MB/s with tracing, grown {grown} B")
    assert takes == 0
    assert grown < 5_000_000


def damaged(line: bytes, rng: random.Random) -> bytes:
    """Flip a bit, drop, insert or double a byte."""
    at = rng.randrange(len(line))
    kind = rng.randrange(4)
    if kind == 0:
        return line[:at] + bytes([line[at] ^ 1 << rng.randrange(8)]) + line[at + 1 :]
    if kind == 1:
        return line[:at] + line[at + 1 :]
    if kind == 2:
        return line[:at] + bytes([rng.randrange(256)]) + line[at:]
    return line[: at + 1] + line[at:]


def damaged_stream(size: int, *, seed: int) -> tuple[int, int, int]:
    """Send steady weights with a fifth of the lines damaged; count weights, wrong takes and wrong readings."""
    rng = random.Random(seed)
    driver = make_scale_driver("plain-stream")
    driver.feed(b"\r\n", 0)
    sent = weights = wrong_takes = wrong_readings = 0
    while sent < size:
        weights += 1
        value = Decimal(rng.randrange(1, 30000)) / 10
        line = f"wt +{value:07.1f} g still\r\n".encode()
        last: deque[Decimal | None] = deque(maxlen=3)
        chunk = b"".join(damaged(line, rng) if rng.random() < 0.2 else line for _ in range(10))
        sent += len(chunk)
        for item in driver.feed(chunk, 0):
            shown = item.value if isinstance(item, Reading) and item.condition is Condition.WEIGHT else None
            last.append(shown)
            wrong_readings += shown is not None and shown != value
            wrong_takes += shown is not None and len(last) == 3 and len(set(last)) == 1 and shown != value
    return weights, wrong_takes, wrong_readings


def test_damaged_lines_never_take_a_wrong_weight() -> None:
    weights, wrong_takes, _ = damaged_stream(500_000, seed=21)
    assert weights > 2000
    assert wrong_takes == 0


@pytest.mark.long
@pytest.mark.timeout(900)
def test_ten_million_bytes_with_damaged_lines_never_take_a_wrong_weight() -> None:
    weights, wrong_takes, wrong_readings = damaged_stream(10_000_000, seed=22)
    print(f"{weights} weights, {wrong_readings} wrong single readings, {wrong_takes} wrong takes")
    assert wrong_takes == 0
