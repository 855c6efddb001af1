"""A taken part still lies on the pan: confirmed, touched, swapped, added to, or gone."""

from __future__ import annotations

from dataclasses import replace
from math import log

from bench.capture.after_taking import NEARLY_OFF, Change, Level, judge_level
from bench.capture.decisions import Advised, Decision, Doubted, Lifted, Phase, Taken
from bench.capture.pan_state import PanState
from bench.capture.samples import Sample
from bench.capture.settle import Plateau
from bench.capture.settling import LATEST_WORD_S, RESTLESS
from bench.capture.unsettled import SURE, same_again, while_settling
from bench.capture.valuing import too_uncertain, uncertainty_of, value_of
from bench.capture.visit import Laid, Visit

STRANGE_S = 1.3
TWO_S = 2.0
SWAP_S = 2.5
AFTER_HOLE_S = 6.0
UNDERSHOOT_SHARE = 0.12
EMPTY_S = 1.0
LOST_S = 3.5
LOW_SHARE = 0.3
OFF_S = 0.6
JUMP_SHARE = 0.2
NEXT_S = 0.94
NEXT_LINES = 0.6
ANOTHER_SHARE = 0.2


def while_laid(pan: PanState, sample: Sample, laid: Laid) -> list[Decision]:
    """Take a reading while a taken part lies there.

    Parameters
    ----------
    pan : PanState
        The pan.
    sample : Sample
        Reading.
    laid : Laid
        The part.

    Returns
    -------
    list[Decision]
        What follows.
    """
    pan.phase = Phase.ASKING if pan.asked else Phase.TAKEN
    net = pan.net(sample)
    if abs(net - laid.weight_g) <= laid.reach_g and not laid.disturbed:
        laid.look.see(sample)
        pan.scale.word.at_rest(steady=sample.steady)
        return []
    if not laid.disturbed:
        laid.disturbed = True
        laid.lowest_g, laid.highest_g, laid.last_g = laid.weight_g, laid.weight_g, laid.weight_g
    laid.look.leaves(sample)
    if abs(net) <= pan.scale.near_zero_g(laid.weight_g):
        laid.near_lines += 1
    elif net < LOW_SHARE * laid.weight_g:
        pan.empty.disagree(pan.run)
    if abs(net - laid.last_g) > JUMP_SHARE * laid.weight_g:
        laid.jumped_s = sample.seconds
    laid.last_g = net
    laid.lowest_g = min(laid.lowest_g, net)
    laid.highest_g = max(laid.highest_g, net)
    flat = pan.flat(max(pan.settings.fits_s, 3.0 * pan.scale.tails.settling_s), laid.weight_g)
    return (_changed(pan, sample, laid, flat[0]) if flat else []) or _still_unclear(pan, sample, laid, net)


def _still_unclear(pan: PanState, sample: Sample, laid: Laid, net_g: float) -> list[Decision]:
    waited = laid.jumped_s is not None and sample.seconds - laid.jumped_s >= LATEST_WORD_S
    told = pan.asked is not None or pan.due is None or pan.visit is None or bool(pan.visit.advised)
    if not waited or told or net_g < LOW_SHARE * laid.weight_g:
        return []
    return pan.advise(pan.visit, sample, RESTLESS)


def _changed(pan: PanState, sample: Sample, laid: Laid, flat: Plateau) -> list[Decision]:
    level = flat.mean_g - pan.scale.zero.grams
    fits = pan.family is not None and pan.family.fits(level)
    lowest = -1e9 if laid.interrupted else laid.lowest_g
    change = judge_level(
        Level(
            taken_g=laid.weight_g,
            now_g=level,
            lowest_g=lowest,
            highest_g=laid.highest_g,
            tolerance_g=laid.tolerance_g,
            threshold_g=pan.scale.on_threshold_g(pan.expected_g),
            fits_next=fits,
        )
    )
    return _act(pan, change, sample, laid, flat)


def _act(pan: PanState, change: Change, sample: Sample, laid: Laid, flat: Plateau) -> list[Decision]:
    level = flat.mean_g - pan.scale.zero.grams
    if change in {Change.TOUCHED, Change.SHIFTED}:
        # a hand has let go or come by: the same part, perhaps seen better; the second look decides at the end
        laid.weight_g = laid.weight_g if change is Change.TOUCHED else level
        laid.rest()
        for one in pan.run.samples[flat.first :]:
            laid.look.see(one)
        return []
    was_off = laid.longest_off_s >= NEXT_S + NEXT_LINES * pan.interval_s
    if change is Change.SAME_AGAIN and laid.left and was_off and not laid.interrupted:
        return _next_lies(pan, laid, sample, Visit(sample.seconds - pan.settings.fits_s))
    if change is Change.SWAPPED and pan.flat(SWAP_S, level):
        since_s = sample.seconds - SWAP_S if laid.jumped_s is None else laid.jumped_s
        return _next_lies(pan, laid, sample, Visit(since_s, lowest_proof_s=SWAP_S))
    if change is Change.ADDED and pan.due is not None and pan.due.stacked:
        base = laid.weight_g
        return _next_lies(pan, laid, sample, Visit(sample.seconds - pan.settings.fits_s, base_g=base))
    return _pan_is_empty(pan, change, sample, laid, flat) or _puzzle(pan, change, sample, laid)


def _pan_is_empty(pan: PanState, change: Change, sample: Sample, laid: Laid, flat: Plateau) -> list[Decision]:
    level = flat.mean_g - pan.scale.zero.grams
    if change is Change.STRANGE and _pan_reads_otherwise(pan, laid, level):
        return _zero_was_wrong(pan, laid, sample, flat.mean_g)
    if _came_back(pan, laid, sample, level):
        return _lost_zero(pan, laid, sample, flat.mean_g)
    return []


def _pan_reads_otherwise(pan: PanState, laid: Laid, level_g: float) -> bool:
    # calm, far below the part and nothing much lower seen: the pan is empty and reads otherwise than before
    fell = level_g <= (1.0 - NEARLY_OFF) * laid.weight_g
    nothing_lower = level_g - laid.lowest_g <= UNDERSHOOT_SHARE * laid.weight_g
    return fell and nothing_lower and not laid.interrupted and bool(pan.flat(EMPTY_S, 0.0))


def _zero_was_wrong(pan: PanState, laid: Laid, sample: Sample, empty_g: float) -> list[Decision]:
    zero = pan.scale.zero
    off = empty_g - zero.grams
    zero.set(empty_g, uncertainty_g=pan.scale.division_g, seconds=sample.seconds)
    zero.suspect_now()
    end = pan.zero_moved(off, sample.at_ns) or [Lifted(sample.at_ns, laid.taken.key)]
    return [*end, *pan.now_empty(sample, after_part=False)]


def _came_back(pan: PanState, laid: Laid, sample: Sample, level_g: float) -> bool:
    # nothing fits for long, and the lowest calm level is seen again after something lay on it: that is the empty pan
    if laid.strange_s is None or sample.seconds - laid.strange_s < LOST_S or not pan.flat(EMPTY_S, 0.0):
        return False
    near = pan.scale.near_zero_g(pan.expected_g)
    if laid.floor_g is None or level_g < laid.floor_g - near:
        laid.floor_g, laid.rose = level_g, False
        return False
    if level_g > laid.floor_g + pan.scale.on_threshold_g(pan.expected_g):
        laid.rose = True
        return False
    return laid.rose


def _lost_zero(pan: PanState, laid: Laid, sample: Sample, empty_g: float) -> list[Decision]:
    zero = pan.scale.zero
    off = empty_g - zero.grams
    zero.set(empty_g, uncertainty_g=pan.scale.division_g, seconds=sample.seconds)
    zero.suspect_now()
    words = f"the pan reads {sample.shown} {pan.scale.unit} after each lift: taken as empty"
    end = pan.zero_moved(off, sample.at_ns) or [Lifted(sample.at_ns, laid.taken.key)]
    return [*end, Advised(sample.at_ns, words), *pan.now_empty(sample, after_part=False)]


def _next_lies(pan: PanState, laid: Laid, sample: Sample, visit: Visit) -> list[Decision]:
    decisions = finish(pan, laid, sample.at_ns)
    if not laid.near_lines and laid.longest_off_s > _long_enough_to_see_the_zero_s(pan, laid):
        pan.scale.zero.suspect_now()
    pan.visit = visit
    if _is_plainly_another(pan, laid, sample):
        decisions = [replace(d, next_lies=True) if isinstance(d, Doubted) else d for d in decisions]
        pan.doubted_s = None
    visit.too_soon = pan.doubted_s is not None
    return [*decisions, *while_settling(pan, sample, visit)]


def _is_plainly_another(pan: PanState, laid: Laid, sample: Sample) -> bool:
    # of one set it might be the doubted part itself, laid again
    level = pan.net(sample)
    apart = abs(level - laid.weight_g) > ANOTHER_SHARE * max(level, laid.weight_g)
    return apart and pan.family is not None and pan.family.fits(level)


def _puzzle(pan: PanState, change: Change, sample: Sample, laid: Laid) -> list[Decision]:
    if laid.strange_s is None:
        laid.strange_s = sample.seconds
    waited = sample.seconds - laid.strange_s
    if change is Change.ADDED:
        return pan.advise(pan.visit, sample, "two parts lie on the pan: take one off") if waited >= TWO_S else []
    if pan.due is None or change is Change.SWAPPED or pan.asked is not None:
        return []
    if waited < (AFTER_HOLE_S if laid.interrupted else STRANGE_S):
        return []
    name = laid.taken.key
    if change is Change.SAME_AGAIN:
        words = same_again(laid, pan.due)
    else:
        words = f"what lies there is neither {name} nor like {pan.due.label}: take it for {pan.due.label}?"
    return pan.ask(sample.at_ns, words, *SURE)


def _long_enough_to_see_the_zero_s(pan: PanState, laid: Laid) -> float:
    tails = pan.scale.tails
    decay = log(max(2.0, laid.weight_g / pan.scale.near_zero_g(laid.weight_g)))
    return OFF_S + decay * tails.settling_s + 2.0 * tails.lines_per_update * pan.interval_s


def _surer_or_doubtful(pan: PanState, laid: Laid, whole: Plateau | None, at_ns: int) -> Taken | None:
    """Return what all that was seen says, where the tone came before it was sure: a surer value, or a doubtful one."""
    taken = laid.taken
    if taken.doubtful or not too_uncertain(
        taken.standard_uncertainty_g, laid.due, pan.scale, pan.settings, at_lift=True
    ):
        return None
    if whole is not None:
        u = uncertainty_of(whole, load_g=laid.weight_g, seconds=at_ns / 1e9, scale=pan.scale)
        if not too_uncertain(u, laid.due, pan.scale, pan.settings, at_lift=True):
            return _value_at_lift(pan, laid, whole, at_ns, uncertainty_g=u, doubtful=False)
    return replace(taken, doubtful=True)


def _value_at_lift(
    pan: PanState, laid: Laid, better: Plateau, at_ns: int, *, uncertainty_g: float, doubtful: bool
) -> Taken:
    return value_of(
        laid.look.run,
        better,
        at_ns=at_ns,
        key=laid.taken.key,
        base_g=laid.look.level_g - laid.taken.refined_g,
        scale=pan.scale,
        uncertainty_g=uncertainty_g,
        doubtful=doubtful,
    )


def finish(pan: PanState, laid: Laid, at_ns: int) -> list[Decision]:
    """End the look at a part that has left.

    Parameters
    ----------
    pan : PanState
        The pan.
    laid : Laid
        The part.
    at_ns : int
        Moment. [ns]

    Returns
    -------
    list[Decision]
        Lifted, with the final value when it was amended, or doubted.
    """
    key = laid.taken.key
    pan.doubted_s = None
    if laid.look_cut:
        return [Lifted(at_ns, key, _surer_or_doubtful(pan, laid, None, at_ns))]
    look = laid.look.found(
        half_off_s=laid.first_half_s,
        division_g=pan.scale.division_g,
        noise=pan.scale.noise,
        load_g=laid.weight_g,
        lines_per_update=pan.scale.tails.lines_per_update,
        settling_s=pan.scale.tails.settling_s,
        interval_s=pan.interval_s,
    )
    if look.late_g is not None and not look.doubted:
        pan.scale.creep.learn(look.late_g, single_g=pan.scale.noise.single_at(laid.weight_g))
    pan.doubted_s = at_ns / 1e9 if look.doubted else None
    if look.doubted:
        pan.unconfirmed = [k for k in pan.unconfirmed if k != key]
        return [Doubted(at_ns, key, f"it did not stand still at {laid.taken.grams} g while it lay there")]
    if look.plateau is not None:
        pan.scale.noise.learn_load(laid.weight_g, look.plateau.window.scatter_g)
    if look.plateau is None or not look.amends:
        return [Lifted(at_ns, key, _surer_or_doubtful(pan, laid, look.plateau, at_ns))]
    u = uncertainty_of(look.plateau, load_g=laid.weight_g, seconds=at_ns / 1e9, scale=pan.scale)
    doubtful = laid.taken.doubtful or too_uncertain(u, laid.due, pan.scale, pan.settings, at_lift=True)
    final = _value_at_lift(pan, laid, look.plateau, at_ns, uncertainty_g=u, doubtful=doubtful)
    return [Lifted(at_ns, key, final)]
