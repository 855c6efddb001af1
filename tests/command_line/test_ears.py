"""Tones that differ in pitch and pattern, prompts that are spoken, and what happens where nothing can sound."""

from __future__ import annotations

import io
import os
import stat
import sys
import time
import wave
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from bench.command_line import main as command_line
from bench.command_line import show_dashboard, sound_programs
from bench.command_line.doctor_finding import How
from bench.command_line.doctor_sound import check_sound
from bench.command_line.ears import Speaker, TonePlayer
from bench.command_line.settings import Settings
from bench.command_line.tone_shapes import SHAPES, wave_file
from bench.use_cases.view import Tone

TONES = (Tone.ACCEPT, Tone.ATTENTION, Tone.REFUSE)
posix = pytest.mark.skipif(sys.platform == "win32", reason="a script stands in for a program of the system")


def heard(tone: Tone) -> tuple[np.ndarray, int]:
    with wave.open(io.BytesIO(wave_file(SHAPES[tone]))) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float), file.getframerate()


def strokes_in(samples: np.ndarray, rate: int) -> int:
    """Count by loudness alone: louder than a tenth for at least 50 ms, then quiet for at least 50 ms."""
    window = rate // 100
    loud = [np.abs(samples[i : i + window]).max() > 3000 for i in range(0, len(samples), window)]
    words = "".join("#" if one else "." for one in loud)
    return len([stroke for stroke in words.replace(".....", " ").replace(".", "").split() if len(stroke) >= 5])


def pitch_of(samples: np.ndarray, rate: int) -> float:
    """The strongest line of the spectrum (discrete Fourier transform, numpy)."""
    spectrum = np.abs(np.fft.rfft(samples))
    return float(np.fft.rfftfreq(len(samples), 1.0 / rate)[int(np.argmax(spectrum))])


def test_each_tone_has_its_own_pitch_and_its_own_pattern() -> None:
    pitches, patterns = {}, {}
    for tone in TONES:
        samples, rate = heard(tone)
        pitches[tone], patterns[tone] = pitch_of(samples, rate), strokes_in(samples, rate)
        assert np.abs(samples).max() < 32_767
        assert samples[0] == samples[-1] == 0
        assert len(samples) / rate < 1.0
    assert patterns == {Tone.ACCEPT: 1, Tone.ATTENTION: 2, Tone.REFUSE: 3}
    # a fifth apart at least (3:2), far more than any ear needs, between 350 and 1,200 Hz, which small loudspeakers reach
    for one, other in combinations(TONES, 2):
        low, high = sorted((pitches[one], pitches[other]))
        assert high / low > 1.45
    assert min(pitches.values()) > 350
    assert max(pitches.values()) < 1200


@pytest.fixture
def programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of programs that write down what they are given; the only one there is."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "linux")
    return tmp_path


def program(folder: Path, name: str, then: str = "") -> Path:
    path = folder / name
    path.write_text(f'#!/bin/sh\necho "$@" >> {folder}/{name}.said\n{then}\n')
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return folder / f"{name}.said"


def until(what: object, *, seconds: float = 5.0) -> None:
    end = time.monotonic() + seconds
    while not what():  # type: ignore[operator]
        assert time.monotonic() < end
        time.sleep(0.01)


@posix
def test_a_tone_is_played_by_the_program_that_is_there_and_the_bench_does_not_wait(programs: Path) -> None:
    said = program(programs, "aplay", "/bin/sleep 0.4")
    tones = TonePlayer(sound_programs.player(platform="linux"))
    began = time.monotonic()
    assert tones(Tone.ACCEPT) is True
    assert time.monotonic() - began < 0.3
    until(said.exists)
    until(lambda: "accept.wav" in said.read_text())
    assert "-q" in said.read_text()
    tones.close()
    assert not Path(said.read_text().split()[-1]).exists()


@posix
def test_of_many_tones_at_once_the_newest_is_played(programs: Path) -> None:
    said = program(programs, "aplay", "/bin/sleep 0.3")
    tones = TonePlayer(sound_programs.player(platform="linux"))
    tones(Tone.ACCEPT)
    until(said.exists)
    for _ in range(20):
        tones(Tone.ATTENTION)
    tones(Tone.REFUSE)
    until(lambda: "refuse.wav" in said.read_text())
    tones.close()
    assert len(said.read_text().splitlines()) == 2


@posix
@pytest.mark.parametrize("then", ["exit 1", None], ids=["fails", "is gone"])
def test_a_program_that_fails_once_gives_way_to_the_bell(programs: Path, then: str | None) -> None:
    program(programs, "aplay", then or "")
    tones = TonePlayer(sound_programs.player(platform="linux"))
    if then is None:
        (programs / "aplay").unlink()
    tones(Tone.ACCEPT)
    until(lambda: not tones.works)
    assert tones(Tone.ACCEPT) is False
    tones.close()


@posix
def test_prompts_are_spoken_and_a_new_one_cuts_the_old_one_short(programs: Path) -> None:
    told = programs / "words"
    program(programs, "espeak-ng", f"/bin/cat >> {told}\nexec /bin/sleep 5")
    speaker = Speaker(sound_programs.speaker(platform="linux"))
    began = time.monotonic()
    speaker("Lay piston 3 of 8")
    until(lambda: told.exists() and "piston 3" in told.read_text())
    speaker("$(touch gone); Lift it off")
    until(lambda: "Lift it off" in told.read_text())
    assert "--stdin" in (programs / "espeak-ng.said").read_text()
    assert "Lift" not in (programs / "espeak-ng.said").read_text()
    speaker.close()
    assert time.monotonic() - began < 4.0
    assert not Path("gone").exists()


def test_the_settings_choose_what_is_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sound_programs, "player", lambda: ())
    monkeypatch.setattr(sound_programs, "speaker", lambda: ())
    assert show_dashboard._ears(Settings()) == (None, None, ())
    silent, nobody, _ = show_dashboard._ears(Settings(sound="none"))
    assert silent is not None
    assert silent(Tone.REFUSE) is None
    assert nobody is None
    tones, speaker, ends = show_dashboard._ears(Settings(sound="tones", speech="prompts"))
    assert tones is not None
    assert tones(Tone.ACCEPT) is False
    assert speaker is not None
    speaker("nobody hears this")
    for end in ends:
        end()


@pytest.mark.parametrize(
    ("settings", "there", "platform", "how", "words"),
    [
        ({}, set(), "linux", How.FINE, "the terminal's bell"),
        ({"sound": "none"}, {"aplay"}, "linux", How.FINE, "no tones"),
        ({"sound": "tones"}, {"aplay"}, "linux", How.FINE, "played by /bin/aplay"),
        ({"sound": "tones"}, {"aplay", "pw-play"}, "linux", How.FINE, "played by /bin/pw-play"),
        ({"sound": "tones"}, set(), "linux", How.LOOK, "no program plays them"),
        ({"sound": "tones"}, set(), "win32", How.FINE, "played by winsound"),
        ({"sound": "tones"}, {"afplay"}, "darwin", How.FINE, "played by /bin/afplay"),
        ({"sound": "tones"}, set(), "plan9", How.LOOK, "no program plays them"),
        ({"sound": "none", "speech": "prompts"}, set(), "linux", How.LOOK, "no program speaks them"),
        ({"sound": "none", "speech": "prompts"}, {"espeak"}, "linux", How.FINE, "spoken by /bin/espeak"),
        ({"sound": "none", "speech": "prompts"}, {"say"}, "darwin", How.FINE, "spoken by /bin/say"),
    ],
)
def test_doctor_says_whether_sound_can_be_made(
    settings: dict[str, str], there: set[str], platform: str, how: How, words: str
) -> None:
    found = check_sound(
        Settings.model_validate(settings),
        platform=platform,
        which=lambda name: f"/bin/{name}" if name in there else None,
    )
    assert (found[-1].how, words in found[-1].words) == (how, True), found[-1]
    assert bool(found[-1].remedy) == (how is How.LOOK)


@posix
def test_doctor_plays_the_three_tones_and_says_what_each_means(
    programs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SPINLEDGER_HOME", str(programs / "home"))
    assert command_line.run(["doctor", "--sound"]) == 1
    assert "no program of this computer plays them" in capsys.readouterr().out
    said = program(programs, "aplay")
    assert command_line.run(["doctor", "--sound"]) == 0
    played = [Path(line.split()[-1]).name for line in said.read_text().splitlines()]
    assert played == ["accept.wav", "attention.wav", "refuse.wav"]
    assert "three times: not taken" in capsys.readouterr().out
    assert os.environ["PATH"] == str(programs)
