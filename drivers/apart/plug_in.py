"""A foreign driver as the bench sees it: a process that is asked, waited for a while, and ended when it is no good."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
import weakref
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from drivers.apart.wire import ANSWER_CAP, Answer, AnswerError, Ask, answer_of_line, lines_of, runs_of, to_line
from drivers.contract import ExportFault, ExportReader, LineFault, Reading, ScaleDriver, SpinReading
from drivers.showing import plain_words

LONGEST_ANSWER_S = 5.0
"""So long a foreign driver may take to start, and for each answer. [s]"""
PATIENCE_S = 1.0
"""So long one that is not needed any more may take to leave. [s]"""
_START = (
    "import json, sys; sys.path[:] = json.loads(sys.argv.pop()); from drivers.apart.child import main; sys.exit(main())"
)
_RAW_CAP = 128
_ASK = "the bench goes on without it; ask whoever made it"
_KEPT = ("PATH", "HOME", "LANG", "TZ", "TMPDIR", "TEMP", "TMP", "LD_LIBRARY_PATH", "SYSTEMROOT", "SYSTEMDRIVE",
         "USERPROFILE", "APPDATA", "LOCALAPPDATA", "PROGRAMDATA", "VIRTUAL_ENV")  # fmt: skip
_KEPT_FAMILIES = ("LC_", "PYTHON", "COVERAGE_", "COV_")


Line = TypeVar("Line")


class PlugInError(Exception):
    """A foreign driver that cannot be used; the process has been ended.

    Parameters
    ----------
    words : str
        Why, for people.
    of_profile : bool
        The profile is at fault, not the driver.
    """

    def __init__(self, words: str, *, of_profile: bool = False) -> None:
        super().__init__(words)
        self.words = words
        self.of_profile = of_profile


class PlugInProcess:
    """One foreign driver in a process of its own.

    Parameters
    ----------
    name : str
        What it is called.
    target : str
        Module and object.
    kind : str
        "scale" or "balancer".
    profile : Path | None
        File of its profile; None when it brings its own.
    longest_s : float
        Limit for the start and for each answer. [s]

    Raises
    ------
    PlugInError
        When it does not start.
    """

    def __init__(
        self, name: str, target: str, *, kind: str, profile: Path | None = None, longest_s: float = LONGEST_ANSWER_S
    ) -> None:
        self.name = name
        self.trouble = ""
        self._longest_s = longest_s
        self._number = 0
        self._lines: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._answers: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        try:
            self._process = subprocess.Popen(  # noqa: S603 our own interpreter and our own words
                [sys.executable, "-P", "-c", _START, json.dumps(sys.path)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={key: value for key, value in os.environ.items() if _is_kept(key)},
                start_new_session=True,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except OSError as fault:
            raise PlugInError(f"no process could be started for it: {fault.strerror}") from fault
        threading.Thread(
            target=_carry, args=(self._process, self._lines, self._answers), name=f"plug-in {name}", daemon=True
        ).start()
        self._ending = weakref.finalize(self, _end, self._process, self._lines)
        made = self.ask(Ask(0, "make", target=target, kind=kind, profile=str(profile or "")))
        self.profile_name = plain_words(made.name) or name

    @property
    def pid(self) -> int:
        """Its process."""
        return self._process.pid

    def ask(self, question: Ask) -> Answer:
        """Ask, and wait for the answer; one that is none, late or missing ends the process.

        Parameters
        ----------
        question : Ask
            Its number is given here.

        Returns
        -------
        Answer
            Checked field by field.

        Raises
        ------
        PlugInError
            When there is no such answer, now or since an earlier question.
        """
        if self.trouble:
            raise PlugInError(self.trouble)
        self._number += 1
        question.n = self._number
        self._lines.put(to_line(question))
        try:
            line = self._answers.get(timeout=self._longest_s)
        except queue.Empty:
            raise self.failed(f"no answer within {self._longest_s:g} s") from None
        if not line.endswith(b"\n"):
            raise self.failed(self._gone() if len(line) < ANSWER_CAP else "it answered without end")
        try:
            answer = answer_of_line(line, number=self._number)
        except AnswerError as fault:
            raise self.failed(f"what it answered is none ({fault})") from fault
        if answer.fault:
            raise self.failed(plain_words(answer.fault, cap=300), of_profile=answer.profile_fault)
        return answer

    def failed(self, why: str, *, of_profile: bool = False) -> PlugInError:
        """End the process and return what is to be raised.

        Parameters
        ----------
        why : str
            What it did.
        of_profile : bool
            The profile is at fault.

        Returns
        -------
        PlugInError
            With the words that stay.
        """
        self.trouble = f"the plug-in {self.name} was ended: {why}"
        if self._ending.detach() is not None:
            _end(self._process, self._lines, patience_s=0.0)
        return PlugInError(why if of_profile else self.trouble, of_profile=of_profile)

    def close(self) -> None:
        """End the process; whoever asks from then on is told."""
        self.trouble = self.trouble or f"the plug-in {self.name} was ended: it was not needed any more"
        self._ending()

    def _gone(self) -> str:
        for _ in range(50):
            how = _ended_how(self._process)
            if how:
                return f"its process ended ({how})"
            time.sleep(0.01)
        return "it closed its pipe"


def _is_kept(variable: str) -> bool:
    return variable.upper() in _KEPT or variable.upper().startswith(_KEPT_FAMILIES)


def _carry(
    process: subprocess.Popen[bytes], lines: queue.SimpleQueue[bytes | None], answers: queue.SimpleQueue[bytes]
) -> None:
    """Write questions and read answers, on a thread that nobody waits for when the other side does not move."""
    questions, told = process.stdin, process.stdout
    if questions is None or told is None:
        return
    with contextlib.suppress(OSError, ValueError), questions, told:
        while (line := lines.get()) is not None:
            try:
                questions.write(line)
                questions.flush()
                answers.put(told.readline(ANSWER_CAP))
            except OSError:
                answers.put(b"")


def _ended_how(process: subprocess.Popen[bytes]) -> str:
    """Return how a process ended; empty while it runs. Its number stays its own, so that its group can be ended."""
    if sys.platform == "win32":
        code = process.poll()
        return "" if code is None else f"code {code}"
    told = os.waitid(os.P_PID, process.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT)
    if told is None:
        return ""
    return f"{'code' if told.si_code == os.CLD_EXITED else 'signal'} {told.si_status}"


def _end(
    process: subprocess.Popen[bytes], lines: queue.SimpleQueue[bytes | None], *, patience_s: float = PATIENCE_S
) -> None:
    """End the process, with what it may have started in its own session; it may leave by itself for a moment."""
    lines.put(None)
    if process.returncode is None:
        until = time.monotonic() + patience_s
        while time.monotonic() < until and not _ended_how(process):
            time.sleep(0.005)
        with contextlib.suppress(OSError):
            if sys.platform == "win32":
                process.kill()
            else:
                os.killpg(process.pid, signal.SIGKILL)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(2.0)


class _Apart:
    """What every foreign driver is to the bench.

    Parameters
    ----------
    process : PlugInProcess | None
        Where it runs; None when it does not run at all.
    name : str
        What it is called.
    trouble : str
        Why it does not run.
    """

    def __init__(self, process: PlugInProcess | None, *, name: str, trouble: str = "") -> None:
        self._process = process
        self._trouble = trouble
        self.profile_name = process.profile_name if process else name

    @property
    def trouble(self) -> str:
        """Why it does not read any more; empty while it does."""
        return self._process.trouble if self._process else self._trouble

    def close(self) -> None:
        """End its process."""
        if self._process is not None:
            self._process.close()

    def _asked(self, question: Ask, reading: Callable[[Answer], list[Line]]) -> list[Line] | None:
        """Ask and return what the answer holds; None when there is no good one, and the process has been ended."""
        if self._process is None or self._process.trouble:
            return None
        try:
            return reading(self._process.ask(question))
        except AnswerError as fault:
            self._process.failed(f"what it answered is none ({fault})")
        except PlugInError:
            pass
        return None


class ApartScale(_Apart):
    """A foreign scale driver."""

    _told = False

    def feed(self, chunk: bytes, at_ns: int) -> list[Reading | LineFault]:
        """Hand bytes over and return what they complete.

        Parameters
        ----------
        chunk : bytes
            As they came.
        at_ns : int
            Moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            Checked; when the driver was ended, one fault that says so, and nothing from then on.
        """
        lines = self._asked(Ask(0, "feed", data=chunk, at_ns=at_ns), lambda answer: lines_of(answer, at_ns=at_ns))
        if lines is not None:
            return lines
        if self._told:
            return []
        self._told = True
        return [LineFault(at_ns, chunk[:_RAW_CAP], self.trouble, "a plug-in that answers")]

    def link_lost(self) -> None:
        """Forget an unfinished line."""
        if self._process is not None and not self._process.trouble:
            with contextlib.suppress(PlugInError):
                self._process.ask(Ask(0, "lost"))


class ApartReader(_Apart):
    """A foreign reader of a balancing machine's texts."""

    def read(self, data: bytes) -> list[SpinReading | ExportFault]:
        """Hand a text over and return its runs.

        Parameters
        ----------
        data : bytes
            Whole.

        Returns
        -------
        list[SpinReading | ExportFault]
            Checked; a fault when the driver was ended.
        """
        runs = self._asked(Ask(0, "read", data=data), runs_of)
        return runs if runs is not None else [ExportFault(0, self.trouble, "a plug-in that answers", _ASK)]


def started(name: str, target: str, *, kind: str, profile: Path | None) -> ScaleDriver | ExportReader:
    """Start a foreign driver.

    Parameters
    ----------
    name : str
        What it is called.
    target : str
        Module and object.
    kind : str
        "scale" or "balancer".
    profile : Path | None
        File of its profile; None when it brings its own.

    Returns
    -------
    ScaleDriver | ExportReader
        As its kind is.
    """
    process = PlugInProcess(name, target, kind=kind, profile=profile)
    return ApartScale(process, name=name) if kind == "scale" else ApartReader(process, name=name)


def silent(name: str, trouble: str, *, kind: str) -> ScaleDriver | ExportReader:
    """Return what stands in for a foreign driver that does not run: it reads nothing and says why.

    Parameters
    ----------
    name : str
        What it is called.
    trouble : str
        Why it does not run.
    kind : str
        "scale" or "balancer".

    Returns
    -------
    ScaleDriver | ExportReader
        As its kind is.
    """
    return (ApartScale if kind == "scale" else ApartReader)(None, name=name, trouble=trouble)
