"""What the desk is told once, when it is made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from bench.trail.at_work import UncleanEnd
from bench.trail.contract import Checkpoint
from bench.use_cases import view as v
from bench.use_cases.enter_stations import NoTemplates, Templates
from bench.use_cases.keep_profile import NoProfiles, Profiles
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import WrittenFile
from bench.use_cases.weigh_rules import WeighRules


@dataclass(frozen=True, slots=True)
class DeskSettings:
    """What the desk is told once.

    Attributes
    ----------
    scale_name, balancer_name : str
        How the instruments are called on the screen and in the record.
    year : Callable[[], int]
        The present year, for job numbers.
    write_certificate : Callable
        Makes the certificate's file.
    simulated : bool
        The bench is simulated.
    care : Callable[[], str]
        What stands about copies of the record until it is seen to; "" when all is well. Cheap to ask often.
    templates : Templates
        Stations of crank types that are kept.
    weighing : WeighRules
        What the shop has set about weighing.
    profiles : Profiles
        Where the balancing machine's profile is kept when a check has put it right.
    ended : UncleanEnd | None
        How the bench ended last time; None when it was the usual way.
    """

    scale_name: str
    balancer_name: str
    year: Callable[[], int]
    write_certificate: Callable[[Scribe, v.Review, Checkpoint], WrittenFile]
    simulated: bool = False
    care: Callable[[], str] = str
    templates: Templates = field(default_factory=NoTemplates)
    weighing: WeighRules = field(default_factory=WeighRules)
    profiles: Profiles = field(default_factory=NoProfiles)
    ended: UncleanEnd | None = None
