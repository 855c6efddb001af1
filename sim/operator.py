"""A person at the scale: follows what he is told, one thing after the other, with human times and clumsy hands."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator

import numpy as np

from sim.answers import Answer, did_lay
from sim.bobweights import Bobweights
from sim.instructions import Adjust, Instruction, Key, Lay, LayMass, Lift, Make, Taken
from sim.mishaps import Mishap, Mishaps
from sim.pan_items import Item
from sim.parts import KIND_PER_THROW, PartSet
from sim.scale import Scale

Waits = Generator[float, None, None]
Say = Callable[[dict[str, object]], None]

_PATIENCE_S = 9.0
_LONG_PATIENCE_S = 20.0
_BOBWEIGHT_PATIENCE_S = 15.0
_TRIES = 3
_BEAT_S = 0.1


def _bobweight(wanted: Make) -> str:
    return f"bobweight {wanted.throw}"


class Operator:
    """Lays, lifts and makes what he is told.

    Parameters
    ----------
    scale : Scale
        The scale he works at.
    parts : PartSet
        The parts on his bench.
    bobweights : Bobweights
        The bobweights he has made.
    mishaps : Mishaps
        What goes wrong.
    rng : np.random.Generator
        Source of chance: his times.
    say : Say
        Told of each thing done.
    """

    def __init__(
        self,
        scale: Scale,
        parts: PartSet,
        bobweights: Bobweights,
        mishaps: Mishaps,
        *,
        rng: np.random.Generator,
        say: Say,
    ) -> None:
        self._scale = scale
        self._parts = parts
        self._bobweights = bobweights
        self._mishaps = mishaps
        self._rng = rng
        self._say = say
        self._queue: deque[Instruction] = deque()
        self._current: Instruction | None = None
        self._doing: Waits | None = None
        self._wake_s = 0.0
        self._on_pan: list[Item] = []
        self._laid: Lay | LayMass | None = None
        self._last: Item | None = None
        self._idle_since_s = 0.0
        self._empty_shows_g = 0.0
        self._tries_left = 0
        self.unplug_for_s = 0.0
        self.diary: list[dict[str, object]] = []

    @property
    def busy(self) -> bool:
        """Whether something is in hand or waiting."""
        return self._doing is not None or bool(self._queue)

    def tell(self, instruction: Instruction) -> Answer:
        """Tell him something.

        Parameters
        ----------
        instruction : Instruction
            What he shall do at the scale.

        Returns
        -------
        Answer
            Whether he will do it, is at it already, or has done it.
        """
        last = self._queue[-1] if self._queue else self._current
        if self.busy and instruction == last:
            return Answer.AT_IT
        if not self.busy and self._is_so(instruction):
            return Answer.DONE
        self._queue.append(instruction)
        return Answer.WILL

    def answer_to(self, instruction: Instruction) -> str | None:
        """Tell him something; what is so already is reported as done, marked ``already``.

        Parameters
        ----------
        instruction : Instruction
            What he shall do at the scale.

        Returns
        -------
        str | None
            Why nothing follows; None when a ``did`` has come or will come.
        """
        answer = self.tell(instruction)
        if answer is Answer.DONE:
            self._say({**self._did(instruction), "already": True})
        return Answer.AT_IT.value if answer is Answer.AT_IT else None

    def drop_all(self) -> None:
        """Let everything go: the shop closes."""
        self._queue.clear()
        self._doing = None

    def step(self, now_s: float) -> None:
        """Go on with what is in hand.

        Parameters
        ----------
        now_s : float
            The scale's time. [s]
        """
        if now_s < self._wake_s:
            return
        doing = self._doing or self._begin_next(now_s)
        if doing is None:
            return
        self._doing = doing
        try:
            self._wake_s = now_s + next(doing)
        except StopIteration:
            self._doing = None
            self._idle_since_s = now_s

    def _begin_next(self, now_s: float) -> Waits | None:
        if self._queue:
            self._current = self._queue.popleft()
            self._tries_left = _TRIES
            return self._follow(self._current)
        made = self._current
        if isinstance(made, Make) and self._at_bobweight(made) and now_s - self._idle_since_s > _BOBWEIGHT_PATIENCE_S:
            return self._bring(made)  # no tone: look again whether it shows the number
        # with mishaps about, a part that is not taken for long is lifted and laid again, as people do
        wanted = self._laid
        waiting = bool(self._on_pan) and self._mishaps.rate > 0.0 and now_s - self._idle_since_s > _LONG_PATIENCE_S
        if not isinstance(wanted, Lay) or not waiting or self._tries_left <= 0:
            return None
        self._tries_left -= 1
        self._current = wanted
        return self._try_again(wanted, self._item(wanted))

    def _try_again(self, wanted: Lay, item: Item) -> Waits:
        yield from self._clear()
        self._say({"did": {"lift": {}}})
        yield self._time(1.5, 2.0)
        yield from self._zero_first()
        yield self._time(2.5, 3.5)
        yield from self._put(item)
        self._laid = wanted
        self._say(did_lay(wanted))

    def _follow(self, instruction: Instruction) -> Waits:
        match instruction:
            case Lay() | LayMass():
                yield from self._lay(instruction)
            case Taken():
                yield from self._lift("taken", 0.3, 1.0)
            case Lift(empty_s=empty_s):
                if self._on_pan:
                    yield from self._lift("lift", 0.5, 1.2)
                    yield max(0.0, empty_s)
            case Make():
                yield from self._make(instruction)
            case Adjust():
                yield from self._adjust(instruction)
            case Key():
                yield self._time(0.4, 0.9)
                self._press(instruction.name)
                self._say({"did": {"key": {"name": instruction.name}}})
            case _:
                return

    def _time(self, low_s: float, high_s: float) -> float:
        return float(self._rng.uniform(low_s, high_s))

    def _press(self, name: str) -> None:
        indicator = self._scale.indicator
        {"zero": indicator.press_zero, "tare": indicator.press_tare, "unit": indicator.press_unit}[name]()

    def _is_so(self, wanted: Instruction) -> bool:
        names = [item.name for item in self._on_pan]
        match wanted:
            case Taken() | Lift():
                return not names
            case Make():
                return self._current == wanted and self._at_bobweight(wanted)
            case Lay() | LayMass():
                return self._laid == wanted and names == [self._item(wanted).name]
            case _:
                return False

    def _item(self, wanted: Lay | LayMass) -> Item:
        if isinstance(wanted, LayMass):
            return Item("piece", wanted.grams / 1000.0)
        return Item(
            f"{wanted.kind} {wanted.place}",
            self._parts.true_kg[wanted.kind, wanted.place],
            hung=wanted.kind == "rod_small_end",
        )

    def knows(self, wanted: Lay) -> bool:
        """Tell whether there is such a part on his bench.

        Parameters
        ----------
        wanted : Lay
            Kind and place.

        Returns
        -------
        bool
            True when there is.
        """
        return (wanted.kind, wanted.place) in self._parts.true_kg

    def _did(self, wanted: Instruction) -> dict[str, object]:
        match wanted:
            case Lay() | LayMass():
                return did_lay(wanted)
            case Make():
                return {"did": {"make": {"throw": wanted.throw, "display_g": self._scale.shown.value}}}
            case _:
                return {"did": {type(wanted).__name__.lower(): {}}}

    # laying ---------------------------------------------------------------------------------------------------

    def _lay(self, wanted: Lay | LayMass) -> Waits:
        yield self._time(0.5, 1.4)
        if self._on_pan:
            yield from self._clear()
        right = self._item(wanted)
        mishap = self._mishaps.draw() if isinstance(wanted, Lay) else None
        if mishap is None or not isinstance(wanted, Lay):
            yield from self._put(right)
            self._laid = wanted
            self._say(did_lay(wanted))
            return
        yield from self._lay_badly(wanted, right, mishap)

    def _lay_badly(self, wanted: Lay, right: Item, mishap: Mishap) -> Waits:
        note: dict[str, object] = {"what": mishap.value, "wanted": right.name, "at_s": round(self._scale.now_s, 2)}
        self.diary.append(note)
        self._laid = wanted
        match mishap:
            case Mishap.WRONG_PART | Mishap.SAME_AGAIN | Mishap.TWO_AT_ONCE:
                laid = self._wrong_items(wanted, right, mishap)
                note["laid"] = [item.name for item in laid]
                for item in laid:
                    yield from self._put(item)
                self._say(did_lay(wanted))
                yield from self._notice(wanted, right, note, _PATIENCE_S)
            case Mishap.EARLY_LIFT:
                yield from self._put(right)
                yield self._time(0.2, 0.9)
                yield from self._clear()
                yield self._time(1.5, 3.0)
                if not (self._queue and isinstance(self._queue[0], Taken | Lift)):
                    yield from self._put(right)
                    self._laid = wanted
                    self._say(did_lay(wanted))
            case Mishap.TARE_KEY:
                yield from self._put(right)
                yield self._time(0.2, 1.5)
                self._press("tare")
                self._say(did_lay(wanted))
                yield from self._notice(wanted, right, note, _LONG_PATIENCE_S)
            case Mishap.UNIT_KEY:
                yield from self._put(right)
                self._press("unit")
                yield self._time(2.0, 4.0)
                self._press("unit")
                self._say(did_lay(wanted))
                yield from self._notice(wanted, right, note, _LONG_PATIENCE_S)
            case Mishap.UNPLUG:
                yield from self._put(right)
                yield self._time(0.0, 1.0)
                self.unplug_for_s = 2.0
                self._say(did_lay(wanted))
                yield from self._notice(wanted, right, note, _LONG_PATIENCE_S)

    def _wrong_items(self, wanted: Lay, right: Item, mishap: Mishap) -> list[Item]:
        if mishap is Mishap.SAME_AGAIN and self._last is not None and self._last.name != right.name:
            return [self._last]
        names = [key for key in sorted(self._parts.true_kg) if key != (wanted.kind, wanted.place)]
        same_kind = [key for key in names if key[0] == wanted.kind]
        if mishap is Mishap.TWO_AT_ONCE:
            second = same_kind[int(self._rng.integers(len(same_kind)))]
            return [right, self._item(Lay(*second))]
        others = [key for key in names if key[0] not in {wanted.kind, KIND_PER_THROW}]
        return [self._item(Lay(*others[int(self._rng.integers(len(others)))]))]

    def _notice(self, wanted: Lay, right: Item, note: dict[str, object], patience_s: float) -> Waits:
        waited = 0.0
        while not self._queue and waited < patience_s:
            yield _BEAT_S
            waited += _BEAT_S
        if self._queue and isinstance(self._queue[0], Taken):
            note["ended"] = "taken"
            return
        if self._queue and not isinstance(self._queue[0], Lift):
            note["ended"] = "other instruction"
            return
        note["ended"] = "asked to lift" if self._queue else "noticed"
        if self._queue:
            self._queue.popleft()
            yield self._time(0.4, 0.9)
        yield from self._clear()
        self._say({"did": {"lift": {}}})
        yield self._time(1.2, 2.2)
        yield from self._put(right)
        self._laid = wanted
        self._say(did_lay(wanted))

    def _put(self, item: Item) -> Waits:
        self._on_pan.append(item)
        yield self._scale.lay(item.mass_kg, hung=item.hung)

    def _clear(self) -> Waits:
        if len(self._on_pan) == 1:
            self._last = self._on_pan[0]
        for item in self._on_pan:
            self._bobweights.set_aside(item.name)
        self._on_pan = []
        self._laid = None
        self._scale.lift()
        yield 0.5

    def _lift(self, word: str, low_s: float, high_s: float) -> Waits:
        if not self._on_pan:
            return
        yield self._time(low_s, high_s)
        yield from self._clear()
        self._say({"did": {word: {}}})

    # bobweights -------------------------------------------------------------------------------------------------

    def _make(self, wanted: Make) -> Waits:
        if not self._at_bobweight(wanted):
            yield self._time(0.6, 1.5)
            if self._on_pan:
                yield from self._clear()
                yield self._time(0.8, 1.2)
            yield from self._zero_first()
            self._empty_shows_g = (yield from self._bobweights.read(self._scale)) or 0.0
            mass_kg = self._bobweights.begin(wanted.throw, wanted.target_g / 1000.0)
            yield from self._put(Item(_bobweight(wanted), mass_kg))
        yield from self._bring(wanted)
        self._say(self._did(wanted))

    def _bring(self, wanted: Make) -> Waits:
        # what the empty pan shows is in every reading
        shall_show_g = wanted.target_g + self._empty_shows_g
        yield from self._bobweights.bring_to(wanted.throw, shall_show_g, self._scale, heard=lambda: bool(self._queue))

    def _at_bobweight(self, wanted: Make) -> bool:
        return [item.name for item in self._on_pan] == [_bobweight(wanted)]

    def _zero_first(self) -> Waits:
        shown = self._scale.shown
        if shown.value is None or shown.unit != "g" or abs(shown.value) > 0.3:
            yield self._time(0.8, 1.2)
            if shown.unit != "g":
                self._press("unit")
            self._press("zero")
            yield self._time(0.5, 0.8)

    def _adjust(self, wanted: Adjust) -> Waits:
        throw = self._bobweights.on_pan
        if throw is None:
            return
        yield from self._bobweights.change(throw, wanted.grams / 1000.0, self._scale)
        self._say({"did": {"adjust": {"grams": wanted.grams}}})
