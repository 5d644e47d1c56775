"""What of a place decides everything that can still happen: two places with the same key are one."""

from collections.abc import Hashable

from runner.job.keys import reading_key
from runner.procedure.linked import Procedure
from tests.proof.brute.found import Place


class Keys:
    """The key of a place between two steps; worked out once per procedure which answers, steps and readings matter."""

    def __init__(self, procedure: Procedure) -> None:
        nodes = procedure.nodes
        self.conditions = tuple(condition.name for condition in procedure.conditions)
        self.items = tuple(item.key for item in procedure.items)
        tests = [test for node in nodes for test in node.guard]
        self.answers = tuple({test.name for test in tests if test.kind == "answer"})
        chosen = {test.name for test in tests if test.kind == "choice"}
        chosen |= {test.name for item in procedure.items for test in item.exists}
        self.choices = tuple(sorted(chosen))
        timed = {n for node in nodes if node.in_time for n in node.in_time.start}
        put_offs = [node.put_off for node in nodes if node.put_off]
        timed |= {
            n for put_off in put_offs if put_off.until.kind in ("done", "time") for n in put_off.until.nodes
        }
        self.done = tuple(timed)
        self.readings = tuple(
            {reading_key(source, name, i) for n in nodes for r in n.readings for name, source, i in r.inputs}
        )
        self.time = frozenset(
            node.id for node in nodes if node.put_off is not None and node.put_off.until.kind == "time"
        )

    def of(self, place: Place) -> Hashable:
        """The key of a place at which nothing has been begun."""
        job = place.job
        owed = job.owed
        return (
            job.at,
            tuple(map(job.conditions.get, self.conditions)),
            tuple((state.members, state.fresh) for state in map(job.ledger.__getitem__, self.items)),
            frozenset((key, key in self.time and one.status != "waiting") for key, one in owed.items()),
            place.opened.intersection(owed),
            tuple(map(job.answers.get, self.answers)),
            tuple(name in job.done for name in self.done),
            frozenset(job.loops.items()),
            tuple(map(job.choices.get, self.choices)),
            tuple(key in job.recorded for key in self.readings),
            place.used,
            place.warned,
        )
