"""What the proof answers."""

from runner.frozen import Frozen
from runner.job.gates import Gates
from runner.procedure.finding import Finding
from runner.proof.deeds import Breach


class Verdict(Frozen):
    """The answer for one procedure.

    `findings` in the order of the text, errors among them where it is refused or could not be decided; `gates` for
    the engine (empty when there is an error); `states` and `items` say how large the search was. `breaches` is every
    breach by rule, step and subject, where findings say a stretch of them once.
    """

    findings: tuple[Finding, ...]
    gates: Gates
    states: int = 0
    items: int = 0
    breaches: frozenset[Breach] = frozenset()

    @property
    def proved(self) -> bool:
        """Whether no finding is an error."""
        return all(finding.grade != "error" for finding in self.findings)
