"""A printed text out of a port ends at its mark or with silence; a recording plays back with its times."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from drivers.contract import ExportText, LinkChange, LinkState
from drivers.links.port_capture import CAPTURE_CAP, PortCapture
from drivers.links.recording import RecordingError, RecordingSink, ReplayLink, read_recording
from tests.drivers.links.ears import Ears, until
from tests.drivers.samples import KEYED


def captured(**options: object) -> tuple[PortCapture, list[ExportText], list[LinkChange]]:
    texts: list[ExportText] = []
    changes: list[LinkChange] = []
    return PortCapture(texts.append, on_change=changes.append, **options), texts, changes  # type: ignore[arg-type]


def test_a_capture_ends_at_its_mark_however_it_is_cut() -> None:
    data = KEYED + KEYED.replace(b"RUN 3", b"RUN 4", 1)
    for size in (1, 7, 1000):
        capture, texts, _ = captured(end_mark=b"END RUN")
        for at in range(0, len(data), size):
            capture.bytes_came(data[at : at + size], 5)
        assert [text.data for text in texts] == [KEYED, KEYED.replace(b"RUN 3", b"RUN 4", 1)]


def test_a_capture_without_a_mark_ends_with_silence() -> None:
    capture, texts, _ = captured(silence_s=0.2)
    capture.start()
    capture.bytes_came(KEYED[:30], 1)
    time.sleep(0.05)
    capture.bytes_came(KEYED[30:], 1)
    assert until(lambda: len(texts) == 1, 2.0)
    assert texts[0].data == KEYED
    capture.stop()


def test_a_capture_cut_off_or_endless_is_told_and_not_delivered() -> None:
    capture, texts, changes = captured(end_mark=b"END RUN")
    capture.bytes_came(KEYED[:30], 1)
    capture.link_changed(LinkChange(2, LinkState.LOST))
    assert [change.state for change in changes] == [LinkState.LOST, LinkState.GARBLED]
    assert "cut off after 30 bytes" in changes[-1].detail
    capture.bytes_came(b"x" * (CAPTURE_CAP + 1), 3)
    assert "without an end" in changes[-1].detail
    capture.bytes_came(KEYED, 4)
    assert [text.data for text in texts] == [KEYED]


def test_a_recording_plays_back_the_same_with_its_times(tmp_path: Path) -> None:
    path = tmp_path / "scale.rec"
    first, again = Ears(), Ears()
    sink = RecordingSink(path, first)
    sink.link_changed(LinkChange(1_000, LinkState.OPEN))
    sink.bytes_came(b"\x00\xffwt", 1_000_000)
    sink.bytes_came(b" 1.0 g\r\n", 101_000_000)
    sink.link_changed(LinkChange(102_000_000, LinkState.LOST, "gone", "plug it in"))
    sink.close()
    sink.bytes_came(b"after", 103_000_000)
    assert bytes(first.data) == b"\x00\xffwt 1.0 g\r\nafter"
    replay = ReplayLink(path, again)
    replay.start()
    assert replay.wait(2.0)
    assert bytes(again.data) == b"\x00\xffwt 1.0 g\r\n"
    assert again.states == [LinkState.OPEN, LinkState.LOST, LinkState.CLOSED]
    assert again.times[1] - again.times[0] == 100_000_000
    replay.send(b"nothing")
    replay.stop()
    with pytest.raises(FileExistsError):
        RecordingSink(path)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "no json",
        '{"recording": 1}\n{"t": 1}',
        '{"recording": 1}\n{"t": 1, "hex": "zz"}',
        '{"recording": 1}\n[]',
    ],
)
def test_a_bad_recording_names_file_and_line(tmp_path: Path, text: str) -> None:
    path = tmp_path / "bad.rec"
    path.write_text(text)
    ears = Ears()
    if text:
        with pytest.raises(RecordingError, match=r"bad.rec, line [12]"):
            list(read_recording(path))
    replay = ReplayLink(path if text else tmp_path / "none", ears, speed=0)
    replay.start()
    assert replay.wait(2.0)
    assert ears.states == [LinkState.ABSENT]


def test_a_replay_can_be_stopped(tmp_path: Path) -> None:
    path = tmp_path / "long.rec"
    sink = RecordingSink(path)
    sink.bytes_came(b"a", 0)
    sink.bytes_came(b"b", 60_000_000_000)
    sink.close()
    ears = Ears()
    replay = ReplayLink(path, ears)
    replay.start()
    assert ears.wait_bytes(b"a")
    begun = time.monotonic()
    replay.stop()
    assert time.monotonic() - begun < 1.0
    assert bytes(ears.data) == b"a"
