"""What F1 says: one sentence for what is shown, then the keys."""

from __future__ import annotations

from bench.use_cases.view import Step

ABOUT = {
    Step.INTAKE: "The jobs of this record. Enter opens one, n opens a new one.",
    Step.WEIGH: "Lay what the headline says, take your hands off, lift it when the tone sounds: the sheet fills "
    "itself. A sign beside a number tells its state: ! out of set, ? uncertain, r weighed again, t typed.",
    Step.BOBWEIGHTS: "Lay the bobweight that is due and add or take off until the difference is in the band; it is "
    "kept when it has been steady for a moment.",
    Step.SPIN: "Spin: the run is taken from the machine's text by itself. The numbers in each picture are the runs, "
    "X is the next cut, the tinted middle is the tolerance. Angles run counter-clockwise seen from the front, 0 is the "
    "crank's mark.",
    Step.SIGN_OFF: "What is still open, and what the certificate will say.",
    Step.DONE: "The job is signed off. The certificate can be written again at any time.",
}
PEDAL = (
    "Foot pedal or keyboard: PageDown does what is due (answers the question, records the cuts as proposed); "
    "PageUp takes the last thing back. Nothing is deleted: taking back is recorded too."
)
