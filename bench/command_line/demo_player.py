"""Plays the demo: tells the simulated operator what the bench asks, and confirms what a person would confirm.

Pure: a view goes in, what is to be told and asked comes out, so that it can be tested without a shop.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bench.use_cases.commands import Answer, Command, MakeCertificate, RecordCuts, SignOff
from bench.use_cases.view import BenchView, CutLine, Doing, Proposal, Step, Want

EMPTY_S = 4.0
"""So long the operator leaves the pan empty where the bench asks for that. [s]"""

Told = dict[str, Any]
"""One JSON object for the simulated operator."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What follows from a view.

    Attributes
    ----------
    tell : tuple[Told, ...]
        Lines for the operator.
    ask : tuple[Command, ...]
        Commands for the desk.
    finished : bool
        The job is signed off and its certificate written.
    """

    tell: tuple[Told, ...] = ()
    ask: tuple[Command, ...] = ()
    finished: bool = False


@dataclass(slots=True)
class DemoPlayer:
    """Follows one job.

    Attributes
    ----------
    hands_off : bool
        Also confirm cuts, sign off and write the certificate, which else a person does.
    """

    hands_off: bool
    _last: tuple[object, ...] = field(default=())
    _certificate_asked: bool = field(default=False)
    _drilling: tuple[CutLine, ...] = field(default=())
    _drilled: int = field(default=0)

    def moves(self, view: BenchView) -> Moves:  # noqa: PLR0911 one wish a line
        """Return what is to be told and asked now; nothing while the wish is the same as before.

        Parameters
        ----------
        view : BenchView
            The bench.

        Returns
        -------
        Moves
            May be empty.
        """
        if view.job is None:
            return Moves()
        moment = self._moment(view)
        if moment == self._last:
            return Moves()
        self._last = moment
        want = view.want
        if want.doing is Doing.CUT and view.proposal is not None:
            return self._cut(view, view.proposal)
        if want.doing is Doing.ANSWER:
            return self._answer(view)
        if self.hands_off and want.doing is Doing.SIGN_OFF:
            self._certificate_asked = True
            return Moves(ask=(SignOff(deburred=True, cleaned=True), MakeCertificate()))
        if self.hands_off and view.shown_step is Step.DONE:
            if view.certificate_path:
                return Moves(finished=True)
            if self._certificate_asked or view.job.certificates:
                return Moves()
            # signed off before the power went, the certificate not yet written
            self._certificate_asked = True
            return Moves(ask=(MakeCertificate(),))
        return Moves(tell=tuple(self._tell(want)))

    @staticmethod
    def _moment(view: BenchView) -> tuple[object, ...]:
        question = view.question.words if view.question else ""
        runs = len(view.job.spins) if view.job else 0
        cuts = len(view.job.cuts) if view.job else 0
        return (view.want, question, runs, cuts, view.shown_step, view.certificate_path)

    @staticmethod
    def _tell(want: Want) -> list[Told]:
        if want.doing is Doing.LAY and want.cell is not None:
            return [{"lay": {"kind": want.cell.kind, "place": want.cell.place}}]
        if want.doing is Doing.LIFT:
            return [{"taken": {}}]
        if want.doing is Doing.EMPTY:
            return [{"lift": {"empty_s": EMPTY_S}}]
        if want.doing is Doing.MAKE:
            return [{"make": {"throw": want.throw, "target_g": want.target_g}}]
        if want.doing is Doing.SPIN:
            return [{"spin": {"run": want.run}}]
        return []

    def _cut(self, view: BenchView, proposal: Proposal) -> Moves:
        runs = len(view.job.spins) if view.job else 0
        tell: list[Told] = [
            {
                "cut": {
                    "plane": cut.plane,
                    "angle_deg": round(cut.angle_deg, 1),
                    "grams": round(cut.grams, 2),
                    "tag": f"after run {runs}, cut {index + 1}",
                }
            }
            for index, cut in enumerate(proposal.cuts)
        ]
        self._drilling, self._drilled = proposal.cuts, 0
        return Moves(tell=tuple(tell))

    def did(self, said: Told) -> Moves:
        """Return what follows from what the operator says he did: cuts are recorded when they are really made.

        Parameters
        ----------
        said : Told
            One line of his.

        Returns
        -------
        Moves
            The cuts to record, once all of them are drilled.
        """
        done = said.get("did")
        if not self.hands_off or not isinstance(done, dict) or "cut" not in done or not self._drilling:
            return Moves()
        self._drilled += 1
        if self._drilled < len(self._drilling):
            return Moves()
        cuts, self._drilling = self._drilling, ()
        return Moves(ask=(RecordCuts(cuts),))

    def _answer(self, view: BenchView) -> Moves:
        # the operator clears the pan and lays the part again; a person at the dashboard answers for himself
        choices = [key for key, _ in view.question.choices] if view.question else []
        if self.hands_off and "again" in choices:
            return Moves(tell=({"lift": {}},), ask=(Answer("again"),))
        if self.hands_off and "clear" in choices:
            return Moves(tell=({"lift": {}},), ask=(Answer("clear"),))
        return Moves()
