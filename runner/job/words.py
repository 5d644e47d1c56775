"""How the engine says things: items, places, tests and owed work in words a technician reads once."""

from runner.job.state import Job, Owed
from runner.procedure.linked import Node, Test


def place_of(node: Node) -> str:
    """`left: ` before a sentence, or nothing."""
    return f"{node.place}: " if node.place else ""


def test_words(job: Job, test: Test) -> str:
    """A test as what must be true: `support must be raised`."""
    wanted = " or ".join(test.values)
    if test.kind == "item":
        return f"{job.procedure.item_by_key[test.name].label} must be {wanted}"
    if test.kind == "answer":
        return f"the answer at {test.name} must be {wanted}"
    return f"{test.name} must be {wanted}"


def test_finding(job: Job, test: Test) -> str:
    """What is the case instead: `support is on wheels`."""
    if test.kind == "item":
        return f"{job.procedure.item_by_key[test.name].label} is {job.state_of(test.name)}"
    if test.kind == "condition":
        return f"{test.name} is {job.found.get(test.name) or job.conditions.get(test.name, 'not known')}"
    return f"it is {job.answers.get(test.name, 'not answered')}"


def owed_words(job: Job, owed: Owed) -> str:
    """What is owed and where, as one line."""
    if owed.kind == "extra":
        return owed.why
    node = job.procedure.by_id[owed.node]
    again = " (again)" if owed.kind == "again" else ""
    return f"{place_of(node)}{node.title}{again}"


def item_words(job: Job, key: str) -> str:
    """An item by name and place."""
    return job.procedure.item_by_key[key].label


VERB_DONE = {
    "loosens": "Loosen",
    "takes out": "Take out",
    "starts": "Start by hand",
    "tightens": "Tighten",
    "re-tightens": "Re-tighten",
    "disconnects": "Disconnect",
    "connects": "Connect",
    "puts in": "Put in",
    "takes off": "Take off",
    "puts back": "Put back",
    "fits": "Fit",
    "drains": "Drain",
    "fills": "Fill",
    "opens": "Open",
    "shuts": "Shut",
    "puts on": "Put on",
}
"""Each verb as what to do."""
