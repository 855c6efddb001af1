"""The process a foreign driver runs in: reads questions from a pipe, asks the driver, writes answers to another.

It is started by `drivers.apart.plug_in` and by nobody else. What the driver prints goes nowhere; it gets no terminal,
a limit of memory where the system has one, and an end when it thinks for too long, even when nobody waits any more.
"""

from __future__ import annotations

import faulthandler
import importlib
import os
import sys
from collections.abc import Callable
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import IO, cast

from drivers.apart.wire import ANSWER_CAP, Answer, Ask, answer_of_lines, answer_of_runs, ask_of_line, to_line

MEMORY_CAP = 2 * 1024**3
"""Most address space the process may have, where the system can be told so. [bytes]"""
LONGEST_THINKING_S = 15.0
"""After this long over one question the process ends by itself: nobody waits for it any more. [s]"""


class _FromSource(SourceFileLoader):
    """Reads a module from the file whose hash was recorded, never from a compiled copy beside it."""

    def get_code(self, fullname: str) -> CodeType:
        path = self.get_filename(fullname)
        return self.source_to_code(self.get_data(path), path)


class _SourceFinder:
    """Finds the modules of one package and has them read from their source.

    Parameters
    ----------
    top : str
        The package, or the module that stands alone.
    """

    def __init__(self, top: str) -> None:
        self._top = top

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:  # noqa: ARG002 python's own shape
        """Return where a module of the package is.

        Parameters
        ----------
        name : str
            Of the module.
        path : object
            Where its package's modules are.
        target : object
            Not used.

        Returns
        -------
        ModuleSpec | None
            None for modules of others.
        """
        if name != self._top and not name.startswith(self._top + "."):
            return None
        spec = PathFinder.find_spec(name, cast("list[str] | None", path))
        if spec is not None and isinstance(spec.loader, SourceFileLoader):
            spec.loader = _FromSource(name, spec.loader.get_filename(name))
        return spec


def main() -> None:
    """Answer until the pipe closes."""
    questions, answers = _private_pipes()
    _limit_memory()
    driver: object = None
    while line := questions.readline(2 * ANSWER_CAP):
        ask = ask_of_line(line)
        faulthandler.dump_traceback_later(LONGEST_THINKING_S, exit=True, file=2)
        try:
            if ask.do == "make":
                driver = _make(ask)
                answer = Answer(ask.n, name=str(getattr(driver, "profile_name", ""))[:80])
            else:
                answer = _asked(driver, ask)
            told = to_line(answer)
        except BaseException as fault:  # noqa: BLE001 whatever a driver raises, it is told in words
            told = to_line(Answer(ask.n, fault=_in_words(fault), profile_fault=_of_profile(fault)))
        faulthandler.cancel_dump_traceback_later()
        answers.write(told)
        answers.flush()


def _private_pipes() -> tuple[IO[bytes], IO[bytes]]:
    """Take the pipes away from where a driver would read or print, and put nothing in their place."""
    questions, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nothing, number)
    os.close(nothing)
    return questions, answers


def _limit_memory() -> None:
    if sys.platform == "win32":
        return
    import resource

    for what, cap in ((resource.RLIMIT_AS, MEMORY_CAP), (resource.RLIMIT_CORE, 0)):
        _, hard = resource.getrlimit(what)
        most = cap if hard == resource.RLIM_INFINITY else min(cap, hard)
        resource.setrlimit(what, (most, most))


def _make(ask: Ask) -> object:
    module, _, name = ask.target.partition(":")
    sys.dont_write_bytecode = True
    sys.meta_path.insert(0, _SourceFinder(module.partition(".")[0]))
    made: object = importlib.import_module(module)
    for part in name.split("."):
        made = getattr(made, part)
    maker = getattr(made, "from_profile", None)
    if not callable(maker):
        raise TypeError(f"{ask.target} has no from_profile")
    driver = cast("Callable[[object], object]", maker)(_profile(ask))
    from drivers.contract import ExportReader, ScaleDriver

    if not isinstance(driver, ScaleDriver if ask.kind == "scale" else ExportReader):
        raise TypeError(f"{type(driver).__name__} does not keep the contract of a {ask.kind} driver")
    return driver


def _profile(ask: Ask) -> object:
    if not ask.profile:
        return None
    from drivers.balancers.balancer_profile import BalancerProfile
    from drivers.profile import read_profile
    from drivers.scales.scale_profile import ScaleProfile

    path = Path(ask.profile)
    return read_profile(path, ScaleProfile) if ask.kind == "scale" else read_profile(path, BalancerProfile)


def _asked(driver: object, ask: Ask) -> Answer:
    from drivers.contract import ExportReader, ScaleDriver

    if ask.do == "read":
        return answer_of_runs(ask.n, cast("ExportReader", driver).read(ask.data))
    if ask.do == "feed":
        return answer_of_lines(ask.n, cast("ScaleDriver", driver).feed(ask.data, ask.at_ns))
    cast("ScaleDriver", driver).link_lost()
    return Answer(ask.n)


def _in_words(fault: BaseException) -> str:
    if isinstance(fault, SystemExit):
        return "it asked its process to end"
    if isinstance(fault, MemoryError):
        return f"it wanted more memory than the {MEMORY_CAP // 1024**3} GB a plug-in gets"
    try:
        words = str(fault)
    except Exception:  # noqa: BLE001 a fault without words has its name
        words = ""
    return f"{type(fault).__name__}: {words}"[:600]


def _of_profile(fault: BaseException) -> bool:
    from drivers.profile import ProfileError

    return isinstance(fault, ProfileError)
