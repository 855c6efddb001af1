"""Teaching a scale by talk: three steps, what was learnt and why, a second part to confirm it, and a name."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.instrument_wiring import lasting_address, ports_now
from bench.command_line.teach_command_hearing import LINES, Hearing, find_setting, hear_lines
from bench.command_line.teach_command_keeping import keep_profile, told_why
from bench.command_line.teach_command_talk import Talk
from bench.command_line.teach_wiring import PortSettings, settled_profile, teach_a_scale, values_read
from bench.use_cases.errors import RefusedError
from drivers.contract import LinkChange
from drivers.teach_cutting import moving_bytes
from drivers.teach_port import QUIET_REASONS
from drivers.teach_states import NeedsMore, Taught, TaughtState, Unreadable, parse_shown

if TYPE_CHECKING:
    from bench.command_line.places import Places

_ROUNDS = 8
_PATIENCE_S = 12.0
_PRESSING_S = 60.0
_EXAMPLE = "for instance 512.3 g"


@dataclass
class _Lesson:
    """What was heard and shown so far."""

    hearing: Hearing
    talk: Talk
    port: PortSettings
    print_key: bool
    states: list[TaughtState] = field(default_factory=list[TaughtState])
    heard_to: int = 0

    def hear(self, shown: str) -> None:
        """Listen to a pan at rest, and keep what moved since the step before."""
        between = self.hearing.since(self.heard_to)
        before = self.states[-1].raw if self.states else b""
        if self.print_key:
            self.talk.say("  now press the print key five times, slowly")
        lines, patience_s = (LINES - 2, _PRESSING_S) if self.print_key else (LINES, _PATIENCE_S)
        # The words of an empty pan are those of any pan at rest, unless the scale tells net from gross.
        like = self.states[0].raw if self.states and not self.print_key else b""
        raw = hear_lines(self.hearing, self.talk, lines=lines, like=like, patience_s=patience_s)
        if self.print_key or self.port.ask:
            raw = _whole(raw)
        moved = moving_bytes(between, before=before, after=raw) if before else b""
        if moved and not self.print_key:
            self.states.append(TaughtState(moved, role="moving"))
        self.states.append(TaughtState(raw, shown))
        self.heard_to = self.hearing.mark()

    def forget_last(self) -> str:
        """Take the last step at rest back, with the lines that led to it; return what was typed."""
        shown = self.states.pop().shown
        if self.states and self.states[-1].role == "moving":
            self.states.pop()
        return shown

    def amend(self, shown: str) -> None:
        """Put another number to the last step at rest."""
        self.states[-1] = replace(self.states[-1], shown=shown)


def _whole(raw: bytes) -> bytes:
    """Double the first and the last line: they are whole, and the teacher drops the ends of a capture."""
    lines = raw.splitlines(keepends=True)
    return lines[0] + raw + lines[-1] if lines else raw


def teach_by_talk(
    places: Places, *, address: str, name: str, ask: str, print_key: bool, setting: PortSettings | None
) -> int:
    """Lead a person from an unknown scale to a saved profile.

    Parameters
    ----------
    places : Places
        Where profiles and settings are.
    address : str
        Where the scale is; empty to choose.
    name : str
        Name of the profile; empty to ask.
    ask : str
        What the scale is asked; empty when it speaks by itself.
    print_key : bool
        The scale speaks only when its print key is pressed.
    setting : PortSettings | None
        How the port is opened; None to find out.

    Returns
    -------
    int
        Exit code.
    """
    talk = Talk()
    talk.say("Teaching a scale. Every answer is one line; 'quit' leaves and saves nothing.")
    address = address or _choose_port(talk)
    found = setting or _find(address, talk, ask=ask, print_key=print_key)
    if isinstance(found, int):
        return found
    port = found.model_copy(update={"ask": ask}) if ask else found
    hearing = Hearing(address, port)
    hearing.start()
    try:
        taught = _learn(_Lesson(hearing, talk, port, print_key), name or "taught")
    finally:
        hearing.stop()
    if taught is None:
        talk.say("Nothing was saved.")
        return ExitCode.INPUT_REFUSED
    taught = settled_profile(taught, port=port, print_key=print_key)
    return keep_profile(taught, places, talk, name=name, address=address)


def _choose_port(talk: Talk) -> str:
    ports = ports_now()
    if not ports:
        talk.say("No port is seen. Is the scale switched on and its cable plugged in?")
        address = talk.ask("Name its port or network address, for instance /dev/ttyUSB0, COM3, socket://host:port:")
        if not address:
            raise RefusedError("port", found="none", wanted="a port", do="plug the scale in, then begin again")
        return address
    for number, port in enumerate(ports, start=1):
        talk.say(f"  {number}  {port.url}  {port.words}")
    answer = talk.ask("Which port is the scale at? Its number, or any other address:", default="1")
    if answer.isdecimal() and 1 <= int(answer) <= len(ports):
        return lasting_address(ports[int(answer) - 1], ports)
    return answer


def _find(address: str, talk: Talk, *, ask: str, print_key: bool) -> PortSettings | int:
    """Find how the port is opened; or say why not, and how the program ends."""
    if ask or print_key:
        talk.say("A scale that speaks only when asked or pressed gives nothing to try speeds with:")
        baud = talk.ask("Which speed is it set to, in bit/s?", default="9600")
        return PortSettings(baud=int(baud) if baud.isdecimal() and 50 <= int(baud) <= 4_000_000 else 9600)
    talk.say(f"Listening at {address}:")
    while True:
        found = find_setting(address, talk)
        if isinstance(found, PortSettings):
            return found
        if isinstance(found, LinkChange):
            talk.say(f"{address} is {found.state.value}: {found.detail}. {found.remedy}.")
            return ExitCode.TRY_AGAIN
        talk.say("Nothing came that looks like the lines of a scale. The usual reasons:")
        for reason in QUIET_REASONS:
            talk.say(f"  - {reason}")
        talk.say("For a scale with a print key run `spinledger teach scale --print-key`; to ask it, --ask TEXT.")
        if not talk.yes("Listen again?"):
            return ExitCode.TRY_AGAIN


def _learn(lesson: _Lesson, name: str) -> Taught | None:
    """Take the steps, learn, and have it confirmed with another part."""
    talk = lesson.talk
    shown = talk.ask("Step 1: take everything off the pan. What does the display show?", default="0")
    lesson.hear(shown)
    lesson.hear(_typed(talk, f"Step 2: put a part of more than 100 g on. What does the display show, {_EXAMPLE}?"))
    verdict = _settle(lesson, name, until_tare=True)
    if verdict is None:
        return None
    _tare(lesson, needed=isinstance(verdict, NeedsMore))
    verdict = _settle(lesson, name, until_tare=False)
    if not isinstance(verdict, Taught):
        return None
    if talk.yes("Can you press the pan down until the display shows overload, and hold it?", default=False):
        raw = hear_lines(lesson.hearing, talk)
        lesson.states.append(TaughtState(raw, role="overload"))
        again = teach_a_scale(lesson.states, name=name)
        verdict = again if isinstance(again, Taught) else verdict
    return _confirmed(lesson, verdict, name)


def _typed(talk: Talk, question: str) -> str:
    while True:
        text = talk.ask(question)
        if parse_shown(text) is not None:
            return text
        talk.say(f"'{text}' is no number with a unit; wanted what the display shows, {_EXAMPLE}")


def _tare(lesson: _Lesson, *, needed: bool) -> None:
    talk = lesson.talk
    question = "Step 3: press tare on the scale, then lift the part. What does the display show?"
    hint = "a negative number" + ("" if needed else "; Enter alone if it has no tare key")
    while True:
        text = talk.ask(f"{question} ({hint})")
        typed = parse_shown(text)
        if not text and not needed:
            return
        if typed is not None and typed.value < 0:
            lesson.hear(text)
            return
        talk.say(f"'{text}' is not negative: with the part's weight tared off and the part lifted it is below zero")


def _settle(lesson: _Lesson, name: str, *, until_tare: bool) -> Taught | NeedsMore | None:
    """Learn from the steps so far; put right what is missing or mistyped, together with the person."""
    talk = lesson.talk
    for _ in range(_ROUNDS):
        verdict = teach_a_scale(lesson.states, name=name)
        if isinstance(verdict, Taught):
            return verdict
        if isinstance(verdict, Unreadable):
            talk.say(f"Not understood: found {verdict.found}; wanted {verdict.wanted}. {verdict.do}.")
            shown = lesson.states[-1].shown
            text = talk.ask("What does the display show now? It is listened to again:", default=shown)
            lesson.forget_last()
            lesson.hear(text)
            continue
        if verdict.step == "tare" and until_tare:
            return verdict
        talk.say(f"One thing more: {verdict.ask}.")
        if verdict.step == "unit":
            unit = talk.ask("Which unit does the display show?", default="g")
            lesson.amend(f"{_number(lesson.states[-1].shown)} {unit}")
        elif verdict.step == "tare":
            _tare(lesson, needed=True)
        else:
            lesson.forget_last()
            lesson.hear(_typed(talk, "What does the display show?"))
    return None


def _number(shown: str) -> str:
    return shown.strip().rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ ")


def _confirmed(lesson: _Lesson, taught: Taught, name: str) -> Taught | None:
    """Show what is read from another part; only a yes lets it be saved."""
    talk = lesson.talk
    told_why(taught, talk)
    for _ in range(2):
        talk.ask("To be sure: put another part on, let it settle, then press Enter.")
        raw = hear_lines(lesson.hearing, talk, lines=LINES)
        read = values_read(taught, _whole(raw) if lesson.print_key or lesson.port.ask else raw)
        value = read[-1] if read else None
        if value is None:
            talk.say("Not one of these lines is read with what was learnt: nothing is saved.")
            return None
        if talk.yes(f"I read {value} {taught.profile.unit or _unit(taught)}. Is that what the display shows?"):
            return taught
        lesson.states.append(TaughtState(raw, _typed(talk, "What does the display show, then?")))
        again = teach_a_scale(lesson.states, name=name)
        if not isinstance(again, Taught):
            words = again.ask if isinstance(again, NeedsMore) else f"found {again.found}; wanted {again.wanted}"
            talk.say(f"With that it does not fit together: {words}.")
            return None
        taught = again
    return None


def _unit(taught: Taught) -> str:
    return next(iter(taught.profile.units.values()), "")
