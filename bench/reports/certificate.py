"""The certificate of a job: one page of HTML that needs nothing else, for the screen, the printer and the years."""

from __future__ import annotations

from dataclasses import dataclass

from bench.models.job_state import JobState
from bench.models.on_crank import mounted_words
from bench.models.rotor_set import crank_state, rotor_name
from bench.models.tooling import tooling_words
from bench.reports import certificate_set as whole_set
from bench.reports import certificate_spins as spun
from bench.reports import certificate_weights as weighed
from bench.reports.checkpoint_code import checkpoint_line, code_picture, in_groups
from bench.reports.figures import NONE, as_weighed, decimals_of, figure, moment
from bench.reports.pages import page
from bench.trail.contract import Checkpoint
from bench.trail.signing import Signature
from bench.use_cases.aside_runs import machine_words
from bench.use_cases.cautions import ON_CERTIFICATE
from bench.use_cases.view import Review

CHANGES_SHOWN = 4


KEY_SHOWN = 32
"""Hex digits of the key on the page; the whole key and the signature are in its head."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A labelled fact of the head of the page."""

    key: str
    label: str
    words: str


def certificate_html(
    *,
    state: JobState,
    review: Review,
    checkpoint: Checkpoint,
    written_utc: str,
    app_version: str,
    replaces: str = "",
    changes: tuple[str, ...] = (),
    signature: Signature | None = None,
) -> str:
    """Return the certificate.

    The same arguments give the same bytes. It holds no script and asks for nothing from anywhere.

    Parameters
    ----------
    state : JobState
        The job, folded from its events.
    review : Review
        The job, computed.
    checkpoint : Checkpoint
        How far the trail had come; ties the page to the record.
    written_utc : str
        RFC 3339 moment of writing.
    app_version : str
        Version of the program.
    replaces : str
        File name and date of the certificate this one replaces; empty for a first one.
    changes : tuple[str, ...]
        What it says otherwise than that one; the first few stand on the page.
    signature : Signature | None
        Of the checkpoint, with the bench's key; None where it has none.

    Returns
    -------
    str
        A whole HTML document, UTF-8.
    """
    verdict, inside = spun.whole_verdict(state, review)
    line = checkpoint_line(checkpoint)
    decimals = decimals_of(w.grams for w in state.weighed.values())
    return page(
        "certificate.html.j2",
        state=state,
        spec=state.spec,
        replaces=replaces,
        changes=changes[:CHANGES_SHOWN],
        further_changes=max(len(changes) - CHANGES_SHOWN, 0),
        verdict=verdict,
        inside=inside,
        facts=_facts(state, review),
        sheets=weighed.sheets(state, review),
        weight_notes=weighed.weight_notes(state),
        sum_sheets=weighed.sum_sheets(state, review),
        bobweight_mean=figure(review.bobweight_mean_g, decimals),
        bobweight_spread=figure(review.bobweight_spread_g, decimals),
        rotors=whole_set.rotors(state),
        rotors_total=whole_set.total(state),
        rotor=rotor_name(state) if state.rotors_done else "",
        runs=spun.runs(state),
        verdicts=spun.verdicts(review),
        pictures=spun.pictures(state, review),
        cuts=spun.cuts(state),
        removed=spun.removed_in_all(state),
        percent=None if review.percent_figure is None else figure(review.percent_figure, 3),
        warnings=review.warnings,
        scale_check=_scale_check(state),
        signed=_signed(state),
        caution=ON_CERTIFICATE,
        checkpoint=checkpoint,
        checkpoint_line=line,
        signature=signature,
        key_in_groups="" if signature is None else in_groups(signature.public[:KEY_SHOWN]),
        head_in_groups=in_groups(checkpoint.head),
        code=code_picture(line, title="the checkpoint, to be scanned"),
        written=moment(written_utc),
        app_version=app_version,
    )


def _facts(state: JobState, review: Review) -> tuple[Fact, ...]:
    spec = state.spec
    layout = spec.layout
    pins = ", ".join(f"{throw.pin_deg:g}°" for throw in layout.throws)
    words = f"{layout.name}; pins at {pins}; bank angle {layout.bank_deg:g}°" if layout.throws else layout.name
    share = f"{spec.reciprocating_share:g} of the reciprocating parts; oil {spec.oil_g:g} g a throw"
    speed = f"{spec.speed_rpm:g} rpm" if spec.speed_rpm is not None else NONE
    mass = f"{spec.rotor_mass_kg:g} kg" if spec.rotor_mass_kg is not None else NONE
    planes = "; ".join(f"{p.name} at {p.radius_mm:g} mm radius" for p in spec.planes)
    facts = [
        Fact("title", "Job", spec.title),
        Fact("customer", "Customer", spec.customer or NONE),
        Fact("engine", "Engine", spec.engine or NONE),
        Fact("serial", "Serial", spec.serial or NONE),
        Fact("layout", "Layout", words),
        Fact("speed", "Speed, rotor", f"{speed}, {mass}; {spec.balance} balance"),
        Fact("planes", "Planes", planes),
        Fact("tolerance", "Tolerance", _tolerance(state, review)),
    ]
    if layout.throws:
        facts.insert(6, Fact("share", "Share", share))
    mounted = mounted_words(crank_state(state))
    if mounted:
        facts.append(Fact("mounted", "Mounted", mounted))
    if tooling_words(state):
        facts.append(Fact("tooling", "Rotor and set", tooling_words(state)))
    if machine_words(state):
        facts.append(Fact("machine", "Machine", machine_words(state)))
    people = _people(state)
    bench = f"; at the bench {', '.join(people)}" if people else ""
    facts.append(Fact("opened", "Opened", f"{moment(state.opened.utc)} by {state.opened.by or 'nobody named'}{bench}"))
    return tuple(facts)


def _people(state: JobState) -> tuple[str, ...]:
    """Who weighed, made bobweights, spun and cut, in the order they came to it."""
    entries = [
        *(weighed.entry for weighed in state.weighed.values()),
        *(made.entry for made in state.bobweights.values()),
        *(spin.entry for one in state.rotors_done for spin in one.spins),
        *(cut.entry for one in state.rotors_done for cut in one.cuts),
        *(spin.entry for spin in state.spins),
        *(cut.entry for cut in state.cuts),
    ]
    return tuple(dict.fromkeys(entry.by for entry in sorted(entries, key=lambda one: one.seq) if entry.by))


def _tolerance(state: JobState, review: Review) -> str:
    tolerance = state.spec.tolerance
    asked: list[str] = []
    if tolerance.shop_limit_g is not None:
        asked.append(f"shop limit {tolerance.shop_limit_g:g} g a plane")
    if tolerance.grade_mm_per_s is not None:
        asked.append(f"balance quality grade G {tolerance.grade_mm_per_s:g} (ISO 21940-11)")
    if state.spec.layout.throws:
        asked.append(f"bobweights to {tolerance.bobweight_g:g} g")
    if tolerance.shop_limit_g is not None and tolerance.grade_mm_per_s is not None:
        asked.append("the stricter one decides")
    used = ", ".join(f"{line.plane} {figure(line.limit_g, 2)} g" for line in review.planes)
    return "; ".join(asked) + (f"; this gives {used}" if used else "")


def _scale_check(state: JobState) -> str:
    if not state.scale_checks:
        return "No known weight was put on the scale in this job."
    last = state.scale_checks[-1]
    words = "passed" if last.passed else "NOT passed"
    count = len(state.scale_checks)
    failed = sum(not check.passed for check in state.scale_checks)
    return (
        f"Known weight {as_weighed(last.nominal_g)} g showed {as_weighed(last.shown_g)} g, "
        f"allowed ±{last.allowed_g:g} g: {words} ({moment(last.entry.utc)}). "
        f"{count} check{'s' if count > 1 else ''} in this job, {failed} not passed."
    )


def _signed(state: JobState) -> str:
    done = state.signed_off
    if done is None:
        return "Not signed off: this page is a draft."
    holes = "every hole deburred" if done.deburred else "deburring not confirmed"
    clean = "crankshaft clean" if done.cleaned else "cleaning not confirmed"
    words = f" {done.words}" if done.words else ""
    result = "inside tolerance" if done.within_tolerance else "NOT inside tolerance when signed"
    return (
        f"Signed off by {done.entry.by or 'nobody named'}, {moment(done.entry.utc)}: {result}, {holes}, {clean}.{words}"
    )
