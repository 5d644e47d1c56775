"""A technician of good will who mostly wants to come to the end: the hand of the property runs, less given to stops."""

from runner.job import actions as a
from runner.job.demand import Demand
from runner.job.state import Job
from runner.procedure.linked import BACK, STOP
from runner.stamp import Stamp
from tests.job.properties.lawful import Lawful


class Steady(Lawful):
    """Answers as a sound work piece would have it four times of five, and seldom leaves a run."""

    def action(self, job: Job, wanted: Demand, stamp: Stamp) -> a.Action:
        made = super().action(job, wanted, stamp)
        node = job.node
        if isinstance(made, a.Answer | a.Look) and node is not None and self.dice.chance(80):
            onward = [way.label for way in node.answers if way.to not in (STOP, BACK) and way.limit is None]
            return made.but(label=self.dice.pick(onward)) if onward else made
        leaves = isinstance(made, a.Seal) and made.outcome == "abandoned"
        if leaves and job.phase in ("working", "stopped") and not self.dice.chance(25):
            kind: a.DeviationKind = "go on" if wanted.kind == "stop" else "not done"
            return self.deviation(wanted, {"who": made.who, "stamp": stamp}, kind)
        return made
