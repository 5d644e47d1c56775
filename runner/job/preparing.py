"""What must be ready before step 1, each line met one by one: tools, parts, supplies, documents, people, conditions."""

from runner.frozen import Frozen
from runner.job.demand import Option
from runner.job.state import Job
from runner.procedure.linked import Choice, Procedure


class Prerequisite(Frozen):
    """One line. `key` is `kind:name`; `values` are the values a condition may have at the start."""

    key: str
    text: str
    values: tuple[str, ...] = ()


def prerequisites(procedure: Procedure) -> tuple[Prerequisite, ...]:
    """Every prerequisite of a procedure, in the order a technician lays things out."""
    lines = [
        Prerequisite(
            f"tool:{tool.name}", f"{tool.name}{f', covers {tool.covers.text}' if tool.covers else ''}"
        )
        for tool in procedure.tools
    ]
    lines += [
        Prerequisite(
            f"part:{part.name}",
            f"{part.quantity} × {part.name}{f', number {part.number}' if part.number else ''}",
        )
        for part in procedure.parts
    ]
    lines += [Prerequisite(f"supply:{text}", text) for text in procedure.supplies]
    lines += [Prerequisite(f"document:{text}", text) for text in procedure.documents]
    lines += [
        Prerequisite(f"person:{name}", f"{name}, by name")
        for role, number in procedure.people
        for name in _each_person(role, number)
    ]
    lines += [
        Prerequisite(f"condition:{c.name}", f"{c.name} is {' or '.join(c.at_start)}", c.at_start)
        for c in procedure.conditions
    ]
    return tuple(lines)


def _each_person(role: str, number: int) -> tuple[str, ...]:
    """`checker`, `checker 2` …; the first performer is whoever starts the run."""
    names = (role, *(f"{role} {n}" for n in range(2, number + 1)))
    return names[1:] if role == "performer" else names


def _lines(job: Job) -> tuple[Prerequisite, ...]:
    """What an earlier run left on this work piece comes before everything else."""
    earlier = tuple(
        Prerequisite(f"earlier:{number}", line) for number, line in enumerate(job.earlier, start=1)
    )
    return (*earlier, *prerequisites(job.procedure))


def prerequisite(job: Job, key: str) -> Prerequisite | None:
    """The prerequisite with a key, or None."""
    return next((line for line in _lines(job) if line.key == key), None)


def still_to_choose(job: Job) -> Choice | None:
    """The next variant or location to pick."""
    return next((choice for choice in job.procedure.choices if choice.name not in job.choices), None)


def still_to_meet(job: Job) -> tuple[Option, ...]:
    """The prerequisites not yet met."""
    return tuple(Option(line.key, line.text) for line in _lines(job) if line.key not in job.met)


def role_holder(job: Job, role: str) -> str:
    """The person named for a role before step 1, or nothing."""
    return job.met.get(f"person:{role}", "")
