"""Rules that programs commonly follow, and an observer who knows when the pan has settled."""

from __future__ import annotations

from weighing_traces import Line, Placement

ON_STEPS = 6
WAIT_S = 5.0
FLAT_S = 1.0
KNOWING_S = 1.0
Capture = tuple[float, float] | None


def zero_of(lines: list[Line], truth: Placement) -> float:
    """Return the zero all plain rules share: the last second of the empty pan, in divisions."""
    values = [x.steps for x in lines if not x.damaged and truth.contact_s - 1.3 <= x.at_s < truth.contact_s - 0.2]
    return sum(values) / len(values) if values else 0.0


def _on(lines: list[Line], zero: float, truth: Placement, division_g: float) -> list[Line]:
    least = min(ON_STEPS, max(3.0, 0.5 * truth.mass_g / division_g))
    good = [x for x in lines if not x.damaged and x.at_s >= truth.contact_s]
    first = next((k for k, x in enumerate(good[:-1]) if min(x.steps, good[k + 1].steps) - zero >= least), None)
    return [] if first is None else good[first:]


def five_equal(on: list[Line], zero: float) -> Capture:
    """Five equal lines in a row."""
    for k in range(4, len(on)):
        if len({x.steps for x in on[k - 4 : k + 1]}) == 1:
            return on[k].at_s, on[k].steps - zero
    return None


def steady_word(on: list[Line], zero: float) -> Capture:
    """The first line that carries the scale's own steady word."""
    return next(((x.at_s, x.steps - zero) for x in on if x.steady), None)


def fixed_wait(on: list[Line], zero: float) -> Capture:
    """The first line five seconds after something is on."""
    return next(((x.at_s, x.steps - zero) for x in on if x.at_s >= on[0].at_s + WAIT_S), None)


def flat_second(on: list[Line], zero: float) -> Capture:
    """One second of lines within one division."""
    first = 0
    for k, x in enumerate(on):
        while on[first].at_s < x.at_s - FLAT_S - 1e-9:
            first += 1
        if x.at_s - on[0].at_s < FLAT_S:
            continue
        values = [y.steps for y in on[first : k + 1]]
        if len(values) >= 3 and max(values) - min(values) <= 1:
            return x.at_s, sum(values) / len(values) - zero
    return None


def all_knowing(on: list[Line], zero: float, truth: Placement) -> Capture:
    """Knows the moment of true settling and averages one second from there."""
    seen = [x.steps for x in on if truth.settled_s <= x.at_s <= truth.settled_s + KNOWING_S]
    return (truth.settled_s + KNOWING_S, sum(seen) / len(seen) - zero) if seen else None


def plain_captures(lines: list[Line], truth: Placement, division_g: float, *, flag_kind: int) -> dict[str, Capture]:
    """Return what each plain rule takes of a placement."""
    zero = zero_of(lines, truth)
    on = _on(lines, zero, truth, division_g)
    taken: dict[str, Capture] = {
        "five equal lines": five_equal(on, zero),
        "5 s wait": fixed_wait(on, zero) if on else None,
        "1 s within 1 d": flat_second(on, zero),
        "all-knowing, 1 s": all_knowing(on, zero, truth),
    }
    if flag_kind == 1:
        taken["steady word, fair"] = steady_word(on, zero)
    if flag_kind == 2:
        taken["steady word, early"] = steady_word(on, zero)
    return taken
