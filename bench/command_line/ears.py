"""Tones and spoken prompts through programs of the computer, on their own threads: the bench never waits for them."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
from pathlib import Path
from tempfile import TemporaryDirectory

from bench.command_line.tone_shapes import SHAPES, wave_file
from bench.use_cases.view import Tone

LONGEST_TONE_S = 5.0
LONGEST_WORDS_S = 20.0
LONGEST_WORDS = 200


class _Newest:
    """A thread that does the newest thing asked for; what came before it and was not begun is passed over."""

    def __init__(self, name: str) -> None:
        self._changed = threading.Condition()
        self._wanted: object = None
        self._over = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def put(self, wanted: object) -> None:
        with self._changed:
            self._wanted = wanted
            self._changed.notify()

    def do(self, wanted: object) -> None:
        raise NotImplementedError

    def close(self) -> None:
        """End; what sounds at this moment is heard out."""
        with self._changed:
            self._over = True
            self._changed.notify()
        self._thread.join(timeout=LONGEST_TONE_S)

    def _run(self) -> None:
        while True:
            with self._changed:
                while self._wanted is None and not self._over:
                    self._changed.wait()
                if self._wanted is None:
                    return
                wanted, self._wanted = self._wanted, None
            self.do(wanted)


class TonePlayer(_Newest):
    """Plays the tones; call it with one.

    Parameters
    ----------
    command : tuple[str, ...]
        What `sound_programs.player` found.
    """

    def __init__(self, command: tuple[str, ...]) -> None:
        self._command = command
        self.works = bool(command)
        """False as soon as the program failed once: the terminal's bell takes over."""
        self._folder = TemporaryDirectory(prefix="tones-")
        self._files = {tone: Path(self._folder.name) / f"{tone.value}.wav" for tone in SHAPES}
        for tone, path in self._files.items():
            path.write_bytes(wave_file(SHAPES[tone]))
        super().__init__("tones")

    def __call__(self, tone: Tone) -> bool:
        """Play a tone.

        Parameters
        ----------
        tone : Tone
            Which.

        Returns
        -------
        bool
            False where nothing can play it.
        """
        if self.works and tone in self._files:
            self.put(self._files[tone])
        return self.works

    def play(self, tone: Tone) -> None:
        """Play a tone and wait until it is over.

        Parameters
        ----------
        tone : Tone
            Which.
        """
        if self.works:
            self.do(self._files[tone])

    def do(self, wanted: object) -> None:
        """Play a file to its end.

        Parameters
        ----------
        wanted : object
            Its path.
        """
        try:
            if sys.platform == "win32":
                import winsound

                winsound.PlaySound(str(wanted), winsound.SND_FILENAME)
            else:
                subprocess.run(  # noqa: S603 a program of our own list, a file of our own
                    [*self._command, str(wanted)],
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    timeout=LONGEST_TONE_S,
                    check=True,
                )
        except (OSError, RuntimeError, subprocess.SubprocessError):
            self.works = False

    def close(self) -> None:
        """End, and take the files away."""
        super().close()
        with contextlib.suppress(OSError):
            self._folder.cleanup()


class Speaker(_Newest):
    """Speaks sentences; a new one cuts the one before short.

    Parameters
    ----------
    command : tuple[str, ...]
        What `sound_programs.speaker` found.
    """

    def __init__(self, command: tuple[str, ...]) -> None:
        self._command = command
        self.works = bool(command)
        self._speaking: subprocess.Popen[bytes] | None = None
        super().__init__("spoken prompts")

    def __call__(self, words: str) -> None:
        """Speak a sentence.

        Parameters
        ----------
        words : str
            The sentence; a very long one is cut.
        """
        if not self.works:
            return
        self._hush()
        self.put(words[:LONGEST_WORDS])

    def do(self, wanted: object) -> None:
        """Speak a sentence to its end, or until the next one comes.

        Parameters
        ----------
        wanted : object
            The sentence.
        """
        try:
            self._speaking = subprocess.Popen(  # noqa: S603 a program of our own list; the words go to its input
                self._command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
            self._speaking.communicate(f"{wanted}\n".encode(), timeout=LONGEST_WORDS_S)
        except (OSError, ValueError):
            self.works = self._speaking is not None
        except subprocess.TimeoutExpired:
            self._hush()
        finally:
            speaking, self._speaking = self._speaking, None
            if speaking is not None:
                speaking.wait()

    def _hush(self) -> None:
        speaking = self._speaking
        if speaking is not None:
            with contextlib.suppress(OSError):
                speaking.terminate()

    def close(self) -> None:
        """End at once."""
        with self._changed:
            self._wanted = None
        self._hush()
        super().close()
