"""What can be set about weighing; every other threshold is learnt from the scale that is running."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WeighSettings:
    """Times and limits of the weigh machines.

    Attributes
    ----------
    fits_s : float
        Calm that a value in the middle of its set must show. [s]
    first_s : float
        Calm that the first of a set must show. [s]
    surprise_s : float
        Calm that a value outside its set must show. [s]
    patience_s : float
        Calm after which the best that can be had is taken as uncertain. [s]
    advice_s : float
        Time after which it is said why nothing happens. [s]
    question_s : float
        Calm before a question is asked. [s]
    off_s : float
        Time off the pan that proves a part has left even when the pan was not seen calm. [s]
    veto_s : float
        Longest time that the scale's own "not steady" is obeyed. [s]
    settling_s : float
        Settling constant until it is learnt. [s]
    drift_divisions_per_min : float
        Drift of the zero that is allowed for. [division/min]
    tone_divisions : float
        Uncertainty that is good enough for the tone where a set has no limit: more is seen until the lift. [division]
    good_divisions : float
        Uncertainty that is good at the lift where a set has no limit. [division]
    refused_divisions : float
        Uncertainty above which nothing is taken without being told to. [division]
    hang_twice : bool
        Rods hung by one end are hung at least twice, with a lift between.
    hang_limit_g : float | None
        How far the two may lie apart; three divisions, or what noise explains, when None. [g]
    bobweight_s : float
        Calm within the band before a bobweight is taken. [s]
    """

    fits_s: float = 0.8
    first_s: float = 2.4
    surprise_s: float = 2.65
    patience_s: float = 5.0
    advice_s: float = 6.8
    question_s: float = 1.3
    off_s: float = 1.05
    veto_s: float = 1.0
    settling_s: float = 0.12
    drift_divisions_per_min: float = 1.0
    tone_divisions: float = 0.92
    good_divisions: float = 0.8
    refused_divisions: float = 1.4
    hang_twice: bool = False
    hang_limit_g: float | None = None
    bobweight_s: float = 1.5
