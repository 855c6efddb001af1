"""The ears' side of the health check: can tones be made, can prompts be spoken."""

from __future__ import annotations

import shutil
import sys

from bench.command_line.doctor_finding import Finding, fine, look
from bench.command_line.settings import Settings
from bench.command_line.sound_programs import PLAYERS, SPEAKERS, Which, missing_words, player, speaker
from bench.use_cases.view import Tone

BELL_HINT = "the terminal's bell is used; `spinledger settings --set sound=tones` gives each its own pitch"


def check_sound(settings: Settings, *, platform: str = sys.platform, which: Which = shutil.which) -> list[Finding]:
    """Look at what tones and prompts are made with.

    Parameters
    ----------
    settings : Settings
        What is wanted.
    platform : str
        As `sys.platform` names it.
    which : Which
        Finds a program.

    Returns
    -------
    list[Finding]
        One for tones, one for prompts where they are wanted.
    """
    command, voice = player(platform=platform, which=which), speaker(platform=platform, which=which)
    if settings.sound == "none":
        found = [fine("sound", "sound", "no tones: set to none; the border still lights up")]
    elif command:
        words = f"tones can be played by {command[0]}"
        used = "; `doctor --sound` plays them" if settings.sound == "tones" else f"; {BELL_HINT}"
        found = [fine("sound", "sound", words + used)]
    elif settings.sound == "tones":
        remedy = f"install {missing_words(PLAYERS, platform=platform)}, or set sound to bell"
        found = [look("sound-none", "sound", "tones are wanted and no program plays them: the bell is used", remedy)]
    else:
        found = [fine("sound", "sound", "the terminal's bell: one stroke taken, two look, three refused")]
    if settings.speech == "prompts" and not voice:
        remedy = f"install {missing_words(SPEAKERS, platform=platform)}, or set speech to none"
        found.append(look("speech-none", "sound", "prompts are wanted and no program speaks them", remedy))
    elif settings.speech == "prompts":
        found.append(fine("speech", "sound", f"prompts are spoken by {voice[0]}"))
    return found


def play_all() -> bool:
    """Play the three tones one after the other and say what each means.

    Returns
    -------
    bool
        False where no tone can be played.
    """
    from bench.command_line.ears import TonePlayer
    from bench.command_line.say import line

    tones = TonePlayer(player())
    try:
        for tone, words in (
            (Tone.ACCEPT, "high, once: taken"),
            (Tone.ATTENTION, "middle, twice: look at the screen"),
            (Tone.REFUSE, "low, three times: not taken"),
        ):
            line(words)
            tones.play(tone)
        return tones.works
    finally:
        tones.close()
