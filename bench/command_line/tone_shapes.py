"""What the three tones sound like: each has a pitch and a pattern of its own, so that either alone tells them apart."""

from __future__ import annotations

import io
import math
import wave
from array import array
from dataclasses import dataclass
from typing import Final

from bench.use_cases.view import Tone

RATE: Final = 22_050
"""Samples a second; more than twice the highest part tone."""
LOUDNESS: Final = 0.8
EDGE_S: Final = 0.008
"""A stroke swells and fades in this time; without it there is a click."""
PART_TONES: Final = ((1, 1.0), (2, 0.35), (3, 0.2))
"""Small loudspeakers and tired ears lose the ground tone; its multiples stand in for it."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One tone.

    Attributes
    ----------
    pitch_hz : float
        Of all its strokes. [Hz]
    strokes : int
        How many.
    stroke_s, gap_s : float
        How long a stroke and the silence after it are. [s]
    """

    pitch_hz: float
    strokes: int
    stroke_s: float
    gap_s: float


SHAPES: Final = {
    Tone.ACCEPT: Shape(1046.5, 1, 0.18, 0.0),
    Tone.ATTENTION: Shape(698.5, 2, 0.16, 0.10),
    Tone.REFUSE: Shape(392.0, 3, 0.22, 0.08),
}
"""High and once: taken. Middle and twice: look. Low and three times: not taken."""


def samples_of(shape: Shape) -> array[int]:
    """Return a tone as samples.

    Parameters
    ----------
    shape : Shape
        The tone.

    Returns
    -------
    array[int]
        16 bit, one channel, `RATE` a second.
    """
    whole = sum(part for _, part in PART_TONES)
    count, edge = round(shape.stroke_s * RATE), round(EDGE_S * RATE)
    stroke = array("h")
    for i in range(count):
        turn = 2.0 * math.pi * shape.pitch_hz * i / RATE
        swell = min(1.0, i / edge, (count - 1 - i) / edge)
        level = sum(part * math.sin(times * turn) for times, part in PART_TONES) / whole
        stroke.append(round(32_767 * LOUDNESS * swell * level))
    silence = array("h", bytes(2 * round(shape.gap_s * RATE)))
    return (stroke + silence) * shape.strokes


def wave_file(shape: Shape) -> bytes:
    """Return a tone as the bytes of a WAV file.

    Parameters
    ----------
    shape : Shape
        The tone.

    Returns
    -------
    bytes
        RIFF WAVE, PCM, 16 bit, one channel.
    """
    held = io.BytesIO()
    with wave.open(held, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        samples = samples_of(shape)
        if file.getsampwidth() == samples.itemsize:
            file.writeframes(samples.tobytes())
    return held.getvalue()
