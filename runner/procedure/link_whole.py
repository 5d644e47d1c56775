"""A procedure as written made into the state graph that the engine runs.

`link` is pure: it reads no file. What a file says is unfolded (link_calls, link_ways), then every reference
is found at its place (link_nodes and the modules it uses). Nothing that is written is dropped: it stands in
the linked form, or it is a finding.
"""

from collections import Counter
from collections.abc import Mapping

from runner.procedure import linked, source
from runner.procedure.finding import Finding, Mark
from runner.procedure.link_calls import Resolve, Unfolding
from runner.procedure.link_detours import Detours, detours
from runner.procedure.link_frame import Draft, Placed, Unit
from runner.procedure.link_header import Header
from runner.procedure.link_names import condition
from runner.procedure.link_nodes import node
from runner.procedure.link_reach import check_made, check_reach
from runner.procedure.link_report import Report, TooLarge
from runner.procedure.link_unused import check_unused


def link(
    written: source.Source,
    resolve: Resolve | None = None,
    *,
    lines: Mapping[str, tuple[str, ...]] | None = None,
) -> tuple[linked.Procedure | None, list[Finding]]:
    """Link a procedure; None where anything is an error, with every finding of every file. Where nothing is, what is
    declared and never used is remarked on.

    `resolve` gives the file that a path means where it stands (mark), or None where it cannot and has said so
    itself. `lines` are the lines of each file by its name, shown with the findings. `files` of the procedure
    are left empty: who reads the files knows their hashes.
    """
    report = Report(lines)
    unfolding = Unfolding(report, resolve or _no_files(report), Header(report))
    try:
        unit, (first, drafts) = unfolding.main(written)
        around = detours(unit, unfolding)
        drafts += around.drafts
        items = unfolding.gather(drafts)
        _findable(drafts)
        unfolding.weaver.missing_targets({draft.id for draft in drafts})
        nodes = tuple(node(draft, report) for draft in drafts)
    except TooLarge:
        return None, report.findings()
    _same_names(written, drafts, items, report)
    if not report.errors():
        check_made(unfolding.units, drafts, unfolding.called, report)
        heads = [head for found in around.heads.values() for _, head in found]
        check_reach(nodes, [first, *heads], report)
    if report.errors():
        return None, report.findings()
    check_unused(unfolding.units, report)
    return _procedure(unit, unfolding.header, items, around, nodes, first), report.findings()


def _findable(drafts: list[Draft]) -> None:
    """Let steps be found by name in their file, in the order of the text and the locations."""
    for draft in drafts:
        if draft.step is not None:
            key = (draft.step.name.text, draft.frame.detour)
            draft.frame.unit.drafts.setdefault(key, Placed()).add(draft.frame.bounds, draft)


def _no_files(report: Report) -> Resolve:
    def refuse(path: str, mark: Mark) -> source.Source | None:
        report.error(mark, "use", f'"{path}" cannot be read: this procedure was given without its files')
        return None

    return refuse


def _same_names(
    written: source.Source, drafts: list[Draft], items: list[linked.Item], report: Report
) -> None:
    """Names joined with places must not meet: a location value with a point in it could do that."""
    for ids, what in (([draft.id for draft in drafts], "steps"), ([item.key for item in items], "items")):
        double = [id_ for id_, number in Counter(ids).items() if number > 1]
        if double and not report.errors():
            marks = {draft.id: draft.mark for draft in drafts}
            mark = marks.get(double[0], written.mark)
            message = f'two {what} would both be called "{double[0]}"; rename a location value'
            report.error(mark, "same-name", message)


def _procedure(
    unit: Unit,
    header: Header,
    items: list[linked.Item],
    around: Detours,
    nodes: tuple[linked.Node, ...],
    first: str,
) -> linked.Procedure:
    written = unit.written
    return linked.Procedure(
        procedure=written.procedure.text,
        title=written.title,
        revision=written.revision,
        fits=written.fits,
        sources=tuple(header.sources),
        people=tuple(header.people.items()),
        conditions=tuple(
            condition(one, tuple(around.heads.get(one.name.text, ()))) for one in written.conditions
        ),
        choices=tuple(header.choices.values()),
        counters=tuple(header.counters.values()),
        tools=tuple(header.tools.values()),
        parts=tuple(header.parts.values()),
        supplies=tuple(header.supplies),
        documents=tuple(header.documents),
        standing=tuple(header.standing),
        items=tuple(items),
        nodes=nodes,
        first=first,
        follow_up=tuple(header.follow_up),
        close_out=tuple(header.close_out),
        make_safe=tuple((value, tuple(texts)) for value, texts in header.make_safe.items()),
    )
