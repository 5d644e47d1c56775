"""What the local rules say of a body of a procedure, as `line:column rule: message`."""

from runner.procedure.finding import Finding
from runner.proof.local import local_findings
from tests.procedure.procedure_text import linked, whole


def told(body: str, **used: str) -> list[Finding]:
    """Every local finding."""
    return local_findings(linked(body, **used))


def lines(body: str, **used: str) -> list[str]:
    """Every local finding as a line, its place counted in the body alone; one in a used file names that first."""
    heads = {f"{name}.yaml": _head(text) for name, text in used.items()}
    return [
        f"{_file(one)}{one.line - heads.get(one.file, _head(body))}:{one.column} {one.rule}: {one.message}"
        for one in told(body, **used)
    ]


def _head(body: str) -> int:
    return whole(body).count("\n") - body.count("\n")


def _file(one: Finding) -> str:
    return "" if one.file == "job.yaml" else f"{one.file} "
