"""Procedures written beside the assertion: a plain head, and a mark for the place where an error is expected."""

from runner.procedure.finding import Finding
from runner.procedure.link_whole import link
from runner.procedure.linked import Node, Procedure
from runner.procedure.reader import read_procedure

HERE = "▶"
"""Stands in front of the text that an error is expected at; taken out before reading."""

_HEAD = {
    "format": "1",
    "procedure": "job",
    "title": "A job",
    "revision": "1",
    "fits": "an invented car",
    "sources": "[Invented data]",
    "people": "{performer: 1, checker: 1}",
    "tools": "none",
    "parts": "none",
    "supplies": "none",
    "close out": "[Look round]",
}


def whole(body: str) -> str:
    """The body of a procedure with the keys it leaves out in front, on one line each."""
    lines = body.split("\n")
    keys = {line.replace(HERE, "").split(":")[0] for line in lines if line and not line[0].isspace()}
    return "".join(f"{key}: {value}\n" for key, value in _HEAD.items() if key not in keys) + body


def linked(body: str, **used: str) -> Procedure:
    """Link a body that has no error; `used` are files by name without `.yaml`. Remarks do not matter here."""
    procedure, found = _link(whole(body), {f"{name}.yaml": whole(text) for name, text in used.items()})
    assert procedure is not None, "\n".join(finding.text() for finding in found)
    assert all(finding.grade != "error" for finding in found)
    assert Procedure.from_data(procedure.to_data()) == procedure
    return procedure


def errors(body: str, **used: str) -> list[Finding]:
    """What the linker finds in a body that the reader takes."""
    procedure, found = _link(
        whole(body).replace(HERE, ""),
        {f"{name}.yaml": whole(text).replace(HERE, "") for name, text in used.items()},
    )
    wrong = [finding for finding in found if finding.grade == "error"]
    assert (procedure is None) == bool(wrong)
    return wrong


def remarks(body: str, **used: str) -> list[Finding]:
    """What the linker remarks on a body that has no error."""
    procedure, found = _link(
        whole(body).replace(HERE, ""),
        {f"{name}.yaml": whole(text).replace(HERE, "") for name, text in used.items()},
    )
    assert procedure is not None, "\n".join(finding.text() for finding in found)
    return found


def marked(text: str) -> tuple[int, int]:
    """Line and column of the mark in a whole text."""
    before, _, _ = whole(text).partition(HERE)
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def _link(text: str, used: dict[str, str]) -> tuple[Procedure | None, list[Finding]]:
    source, found = read_procedure(text.encode(), "job.yaml")
    assert source is not None, "\n".join(finding.text() for finding in found)
    read = {name: read_procedure(other.encode(), name) for name, other in used.items()}
    for other, wrong in read.values():
        assert other is not None, "\n".join(finding.text() for finding in wrong)
    return link(source, lambda path, mark: read[path][0])


def graph(procedure: Procedure) -> str:
    """The nodes and where each leads, one line a node: `id [guard ?skip] -> next | label: to`."""
    return "\n".join(_line(node) for node in procedure.nodes)


def _line(node: Node) -> str:
    guard = " & ".join(f"{test.name}={'/'.join(test.values)}" for test in node.guard)
    ways = [f"{way.label}: {way.to}{_limit(way)}" for way in node.exits]
    straight = [] if node.answers or any(reading.sorting for reading in node.readings) else [node.next]
    return node.id + (f" [{guard} ? {node.skip}]" if guard else "") + " -> " + " | ".join([*straight, *ways])


def _limit(way):
    return f" (at most {way.limit.at_most}, then {way.limit.then.to})" if way.limit else ""
