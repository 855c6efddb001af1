"""The simulated shop as a process of its own: real bytes over a real link, real texts in a real folder."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bench.use_cases.errors import RefusedError

START_S = 30.0


class SimulatedShop:
    """Starts `python -m sim shop` and talks to its operator.

    Parameters
    ----------
    folder : Path
        Where the balancing machine leaves its texts.
    state : Path
        Lets another start go on with the same crank and parts.
    truth : Path
        Where the truth is written at the end.
    seed : int
        Which parts and crank.
    pace : float
        How fast.
    listen : str
        "tcp:127.0.0.1:0" or "pty".
    mishaps : float
        Share of layings that go wrong.
    on_did : Callable[[dict[str, Any]], None] | None
        Takes what the operator says he did.
    """

    def __init__(
        self,
        *,
        folder: Path,
        state: Path,
        truth: Path,
        seed: int,
        pace: float,
        listen: str = "tcp:127.0.0.1:0",
        mishaps: float = 0.0,
        on_did: Callable[[dict[str, Any]], None] | None = None,
    ) -> None:
        words = [sys.executable, "-m", "sim", "shop", "--seed", str(seed), "--listen", listen]
        words += ["--folder", str(folder), "--pace", str(pace), "--truth", str(truth), "--state", str(state)]
        if mishaps:
            words += ["--mishaps", str(mishaps)]
        self.truth = truth
        self.scale_url = ""
        self.last_words = ""
        self._on_did = on_did
        self._ready = threading.Event()
        self._process = subprocess.Popen(  # noqa: S603 our own simulator, our own interpreter, no shell
            words,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            bufsize=1,
        )
        self._reader = threading.Thread(target=self._read, name="simulated shop", daemon=True)
        self._reader.start()
        if not self._ready.wait(START_S) or not self.scale_url:
            self.close()
            raise RefusedError("simulated shop", found=f"it did not start: {self.last_words or 'no word'}")

    def tell(self, told: dict[str, Any]) -> None:
        """Tell the operator something.

        Parameters
        ----------
        told : dict[str, Any]
            One instruction.
        """
        if self._process.stdin is None or self._process.poll() is not None:
            return
        try:
            self._process.stdin.write(json.dumps(told) + "\n")
            self._process.stdin.flush()
        except OSError:
            # the shop has closed; the face sees the scale go
            return

    def close(self) -> None:
        """Let the operator finish and write the truth; end the process if he does not."""
        self.tell({"end": {}})
        if self._process.stdin is not None:
            with contextlib.suppress(OSError):  # closed from the other side
                self._process.stdin.close()
        try:
            self._process.wait(timeout=10.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait(timeout=10.0)
        self._reader.join(timeout=2.0)
        if self._process.stderr is not None:
            self.last_words = self._process.stderr.read()[-500:].strip()
            self._process.stderr.close()
        if self._process.stdout is not None:
            self._process.stdout.close()

    def _read(self) -> None:
        if self._process.stdout is None:
            return
        for line in self._process.stdout:
            try:
                said = json.loads(line)
            except json.JSONDecodeError:
                continue
            if "ready" in said:
                self.scale_url = str(said["ready"]["scale"])
                self._ready.set()
            elif self._on_did is not None:
                self._on_did(said)
        self._ready.set()
