"""Colours: calm, safe for colour-blind eyes (blue and orange, never red against green), and never the only sign."""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="bench-dark",
    primary="#4fa3d9",
    secondary="#8f9bb0",
    accent="#ffb454",
    foreground="#e6e9ef",
    background="#14171c",
    surface="#1b1f26",
    panel="#242a33",
    success="#6cc0ff",
    warning="#ffc46b",
    error="#ff9357",
    dark=True,
)
LIGHT = Theme(
    name="bench-light",
    primary="#0b5a94",
    secondary="#48536a",
    accent="#8a4b00",
    foreground="#14171c",
    background="#f7f8fa",
    surface="#eceff3",
    panel="#dfe4ea",
    success="#00518a",
    warning="#7a4a00",
    error="#a33a00",
    dark=False,
)
HIGH_CONTRAST = Theme(
    name="bench-contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffe14d",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#101010",
    success="#8fd3ff",
    warning="#ffe14d",
    error="#ffb38a",
    dark=True,
)
MONO = Theme(
    name="bench-mono",
    primary="#d0d0d0",
    secondary="#d0d0d0",
    accent="#ffffff",
    foreground="#e0e0e0",
    background="#000000",
    surface="#000000",
    panel="#202020",
    success="#ffffff",
    warning="#ffffff",
    error="#ffffff",
    dark=True,
)
THEMES = (DARK, LIGHT, HIGH_CONTRAST, MONO)
