"""Running a simulated bench in real time: a line on a port, instructions on stdin, one loop for all of it."""

from __future__ import annotations

import contextlib
import json
import queue
import sys
import threading
import time
from typing import Protocol, TextIO

from sim.clock import PacedClock
from sim.instructions import End, Instruction, InstructionError, Unplug, read_instruction
from sim.pan import STEP_S
from sim.ports import Port
from sim.scale import Scale
from sim.scale_wire import line_bytes
from sim.wire_faults import WireFaults


class Bench(Protocol):
    """What the loop runs."""

    @property
    def busy(self) -> bool:
        """Whether anything is in hand."""
        ...

    def tell(self, instruction: Instruction) -> str | None:
        """Tell it something; the answer says why nothing is to be done."""
        ...

    def step(self) -> None:
        """Let it go on by one step."""
        ...

    def drop_all(self) -> None:
        """Let everything go."""
        ...

    def unplug_wish_s(self) -> float:
        """Return for how long the cable comes out by accident, 0 for not at all."""
        ...


def say(document: dict[str, object]) -> None:
    """Print one JSON line.

    Parameters
    ----------
    document : dict[str, object]
        What is told.
    """
    with contextlib.suppress(BrokenPipeError):
        sys.stdout.write(json.dumps(document) + "\n")
        sys.stdout.flush()


class LiveLoop:
    """Drives a scale and a bench with the wall clock.

    Parameters
    ----------
    scale : Scale
        The scale whose lines are sent.
    bench : Bench
        Who follows the instructions.
    port : Port
        Where the lines go.
    faults : WireFaults
        What the line does to them.
    clock : PacedClock
        How fast time runs.
    """

    def __init__(self, scale: Scale, bench: Bench, port: Port, faults: WireFaults, clock: PacedClock) -> None:
        self._scale = scale
        self._bench = bench
        self._port = port
        self._faults = faults
        self._clock = clock
        self._told: queue.Queue[str | None] = queue.Queue()
        self._plug_at_s: float | None = None
        self._ending = False

    def run(self, source: TextIO) -> None:
        """Run until the instructions end.

        Parameters
        ----------
        source : TextIO
            Where the instructions come from.
        """
        threading.Thread(target=self._listen, args=(source,), daemon=True).start()
        while True:
            if not self._take_instructions():
                self._bench.drop_all()
                return
            until_s = self._clock.allowed_s()
            while self._scale.now_s + STEP_S <= until_s:
                self._one_step()
            if self._ending and not self._bench.busy:
                return
            time.sleep(self._clock.wall_wait_s(self._scale.now_s + STEP_S) + 0.0005)

    def _listen(self, source: TextIO) -> None:
        with contextlib.suppress(ValueError, OSError):
            for line in source:
                self._told.put(line)
        self._told.put(None)

    def _take_instructions(self) -> bool:
        while True:
            try:
                line = self._told.get_nowait()
            except queue.Empty:
                return True
            if line is None:
                return False
            if line.strip():
                self._follow(line)

    def _follow(self, line: str) -> None:
        try:
            instruction = read_instruction(line)
        except InstructionError as fault:
            say({"refused": {"line": line.strip()[:200], "why": fault.why}})
            return
        if isinstance(instruction, End):
            self._ending = True
        elif isinstance(instruction, Unplug):
            self._pull(instruction.seconds)
        else:
            why = self._bench.tell(instruction)
            if why is not None:
                say({"nothing": {"line": line.strip()[:200], "why": why}})

    def _pull(self, seconds: float) -> None:
        self._port.pull()
        self._plug_at_s = self._scale.now_s + seconds
        say({"did": {"unplug": {"seconds": seconds}}})

    def _one_step(self) -> None:
        self._bench.step()
        shown = self._scale.advance()
        wish_s = self._bench.unplug_wish_s()
        if wish_s > 0.0:
            self._pull(wish_s)
        if self._plug_at_s is not None and self._scale.now_s >= self._plug_at_s:
            with contextlib.suppress(OSError):  # the address may be taken for a moment; the next step tries again
                self._port.plug()
                self._plug_at_s = None
                say({"did": {"plug": {}}})
        if shown is not None:
            self._port.look()
            sent = self._faults.passed(line_bytes(shown), self._scale.now_s)
            if sent:
                self._port.send(sent)
