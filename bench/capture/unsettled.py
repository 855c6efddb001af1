"""Something lies on the pan and is not taken yet."""

from __future__ import annotations

from bench.capture.decisions import Advised, Decision, Expected, Phase
from bench.capture.family import Family
from bench.capture.pan_state import PanState
from bench.capture.samples import Sample
from bench.capture.second_look import SecondLook
from bench.capture.settle import Plateau, lasting_scatter_g
from bench.capture.settling import RESTLESS, Finding
from bench.capture.valuing import too_uncertain, uncertainty_of, value_of
from bench.capture.visit import Laid, Visit

UNLOADED_S = 1.2
WORKED_AT_S = 15.0
ZERO_REACH_DIVISIONS = 20.0
SAME_DIVISIONS = 1.5
REACH_DIVISIONS = 2.0
REACH_SD = 4.0
LEFT_SHARE = 0.2
LITTLE_SHARE = 0.05
HEAVY_SHARE = 0.5
SURE = ("take", "again")


def while_settling(pan: PanState, sample: Sample, visit: Visit) -> list[Decision]:
    """Take a reading of something that is not taken yet.

    Parameters
    ----------
    pan : PanState
        The pan.
    sample : Sample
        Reading.
    visit : Visit
        The visit.

    Returns
    -------
    list[Decision]
        What follows.
    """
    net = pan.net(sample)
    visit.highest_g = max(visit.highest_g, net)
    pan.phase = Phase.ASKING if pan.asked else Phase.SETTLING
    due, family = pan.due, pan.family
    if due is None or family is None:
        return []
    if due.target_g is not None:
        return _bobweight(pan, sample, visit, due)
    found = pan.settling.judge(pan.run, sample, visit, due, family)
    if found.take is not None and _may_be_laid_back(pan, visit, found.take):
        return (
            [] if pan.asked or visit.perhaps is None else pan.ask(sample.at_ns, same_again(visit.perhaps, due), *SURE)
        )
    if found.take is not None:
        return take(pan, visit, due, found.take, sample.at_ns, certain=found.certain)
    if found.withdraw and pan.asked is not None:
        pan.asked = None
        pan.phase = Phase.SETTLING
    return _pan_reads_this(pan, sample, visit, family) or _said(pan, sample, found)


def same_again(before: Laid, due: Expected) -> str:
    """Return the question about a part that shows the weight of the one before.

    Parameters
    ----------
    before : Laid
        The one before.
    due : Expected
        What is due.

    Returns
    -------
    str
        One sentence.
    """
    name = before.taken.key
    return f"the same weight as {name} again: is it {due.label}, or {name} laid back?"


def _may_be_laid_back(pan: PanState, visit: Visit, plateau: Plateau) -> bool:
    before = visit.perhaps
    if before is None:
        return False
    return abs(plateau.mean_g - pan.scale.zero.grams - visit.base_g - before.weight_g) <= before.tolerance_g


def _said(pan: PanState, sample: Sample, found: Finding) -> list[Decision]:
    if found.question:
        return pan.ask(sample.at_ns, found.question, *found.choices)
    return [Advised(sample.at_ns, found.advice)] if found.advice else []


def _bobweight(pan: PanState, sample: Sample, visit: Visit, due: Expected) -> list[Decision]:
    # as rough as it is now, not as rough as it ever was: shims and hands came and went while it lay there
    rough = lasting_scatter_g(pan.run, since_s=visit.since_s, lines_per_update=pan.scale.tails.lines_per_update)
    judged = pan.bobweight.judge(pan.run, due, scale=pan.scale, rough_g=rough)
    if judged.plateau is not None:
        return take(pan, visit, due, judged.plateau, sample.at_ns, certain=judged.sure)
    if pan.bobweight.level_g(pan.run, scale=pan.scale) is not None:
        visit.flat_s = sample.seconds
    elif sample.seconds - (visit.flat_s or visit.since_s) > WORKED_AT_S:
        return pan.advise(visit, sample, RESTLESS)
    if not judged.noise_g or pan.asked is not None:
        return []
    return _said(pan, sample, pan.settling.too_noisy(visit, due, judged.noise_g))


def _pan_reads_this(pan: PanState, sample: Sample, visit: Visit, family: Family) -> list[Decision]:
    # the pan has been emptied and reads something else than before: a key, or a clip left on it
    flat = pan.flat(UNLOADED_S, 0.0)
    if not flat:
        return []
    zero = pan.scale.zero
    level = flat[-1].mean_g - zero.grams
    visit.highest_plateau_g = max(visit.highest_plateau_g, level)
    visit.lowest_plateau_g = level if visit.lowest_plateau_g is None else min(visit.lowest_plateau_g, level)
    far = abs(zero.grams) > ZERO_REACH_DIVISIONS * pan.scale.division_g
    nought = abs(flat[-1].mean_g) <= 2.0 * pan.scale.division_g
    least = pan.scale.on_threshold_g(pan.expected_g)
    lowest = level <= visit.lowest_plateau_g + least
    fell = visit.highest_plateau_g - level
    expected = family.expected_g
    a_part_left = expected is not None and abs(fell - expected) <= LEFT_SHARE * expected
    if family.fits(level) and not (zero.suspect and a_part_left):
        return []
    little = (
        expected is not None and abs(level) <= LITTLE_SHARE * expected and visit.highest_g >= HEAVY_SHARE * expected
    )
    if not ((far and nought) or (lowest and (fell > least or little))):
        return []
    zero.set(flat[-1].mean_g, uncertainty_g=pan.scale.division_g, seconds=sample.seconds)
    zero.suspect_now()
    words = f"the pan now reads {sample.shown} {pan.scale.unit} after a lift: taken as empty"
    doubts = pan.zero_moved(level, sample.at_ns)
    return [*doubts, Advised(sample.at_ns, words), *pan.now_empty(sample, after_part=False)]


def take(pan: PanState, visit: Visit, due: Expected, plateau: Plateau, at_ns: int, *, certain: bool) -> list[Decision]:
    """Take the value of what lies there.

    Parameters
    ----------
    pan : PanState
        The pan.
    visit : Visit
        The visit.
    due : Expected
        What is due.
    plateau : Plateau
        The stretch it is taken from.
    at_ns : int
        Moment. [ns]
    certain : bool
        Its uncertainty is good.

    Returns
    -------
    list[Decision]
        The value.
    """
    base = pan.scale.zero.grams + visit.base_g
    load = plateau.mean_g - pan.scale.zero.grams
    seconds = at_ns / 1e9
    u = uncertainty_of(plateau, load_g=load, seconds=seconds, scale=pan.scale)
    doubtful = (not certain) or too_uncertain(u, due, pan.scale, pan.settings, at_lift=False)
    taken = value_of(
        pan.run,
        plateau,
        at_ns=at_ns,
        key=due.key,
        base_g=base,
        scale=pan.scale,
        uncertainty_g=u,
        doubtful=doubtful,
    )
    if due.swings and pan.settings.hang_twice:
        limit = pan.settings.hang_limit_g
        together = pan.twice.add(taken, step=pan.scale.step, factor=pan.scale.factor, limit_g=limit)
        if together is None:
            visit.blocked_g = load - visit.base_g
            why = pan.twice.words(places=pan.scale.places)
            return [Advised(at_ns, f"{due.label}: {taken.grams} g{why}; lift it and hang it again")]
        taken = together
    noise = pan.scale.noise.single_at(load)
    error = pan.scale.noise.best_mean_at(plateau.window.span_s, load)
    look = SecondLook(plateau.mean_g, uncertainty_g=error, span_s=plateau.window.span_s)
    for one in pan.run.samples[plateau.first :]:
        look.see(one)
    look.taken()
    tolerance = max(SAME_DIVISIONS * pan.scale.division_g, 3.0 * error)
    if due.target_g is not None:
        noise = max(noise, plateau.window.scatter_g)  # two kilograms feel the floor more than the parts that taught it
    reach = max(REACH_DIVISIONS * pan.scale.division_g, 3.0 * u, REACH_SD * noise)
    visit.laid = Laid(taken, due, load, tolerance, reach, look, load, load)
    visit.advised.clear()
    pan.asked = None
    pan.phase = Phase.TAKEN
    pan.unconfirmed.append(due.key)
    return [taken]
