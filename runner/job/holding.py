"""Whether a test holds in a job: conditions, earlier answers, choices made at the start, states of items."""

from collections.abc import Iterable

from runner.job.state import Job
from runner.procedure.linked import Test


def holds(job: Job, test: Test) -> bool:
    """Whether one test holds. A condition found to differ from the record holds at no value until restored;
    on the way back (a detour) it is what was found.
    """
    if test.kind == "condition":
        if test.name in job.found and not job.detour:
            return False
        return job.found.get(test.name, job.conditions.get(test.name)) in test.values
    if test.kind == "choice":
        return job.choices.get(test.name) in test.values
    if test.kind == "answer":
        return job.answers.get(test.name) in test.values
    state = job.ledger[test.name]
    return state.not_applicable or (job.state_of(test.name) in test.values and not state.not_done)


def unmet(job: Job, tests: Iterable[Test]) -> Test | None:
    """The first test that does not hold, or None."""
    return next((test for test in tests if not holds(job, test)), None)
