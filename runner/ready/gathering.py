"""A linked procedure and the shop's toolbox put together into a ready sheet."""

from collections.abc import Callable, Iterable

from runner.procedure.kinds import KINDS
from runner.procedure.linked import Item, Node, Procedure
from runner.proof.world import World
from runner.ready.estimate import estimate
from runner.ready.exploring import explored_whole, most_used, unavoidable
from runner.ready.facts import AidLine, HelperLine, PartLine, PutOffLine, Sheet, StartLine, ToolLine, Use
from runner.ready.offers import offers, settings_for, torque_in
from runner.ready.tightenings import tightenings
from runner.ready.ways import Ways, When
from runner.toolbox.model import Toolbox
from runner.toolbox.proposing import proposals

_LAID_IN = {"aid": "puts in", "lock": "puts on"}
"""By kind of what is left in the work on purpose, the verb that needs it at hand."""


def gather(
    procedure: Procedure, toolbox: Toolbox, day: str, *, proved: bool, errors: int, torque_unit: str = ""
) -> Sheet:
    """The ready sheet of a procedure on a day (ISO 8601 text), with torques in `torque_unit` too where one is set.

    `proved` and `errors` are the proof's answer. Raises nothing for anything that links.
    """
    ways, world = Ways(procedure), explored_whole(procedure)
    steps = [node for node in procedure.nodes if node.joint is None]
    uses = Uses(procedure, ways, world)
    used = most_used(world)
    proposed = proposals(procedure, toolbox, day)
    return Sheet(
        title=procedure.title,
        procedure=procedure.procedure,
        revision=procedure.revision,
        fits=procedure.fits,
        sources=procedure.sources,
        day=day,
        proved=proved,
        errors=errors,
        toolbox=tuple(str(path) for path in toolbox.paths),
        toolbox_errors=len(toolbox.errors),
        tools_in_box=len(toolbox.wrenches),
        people=procedure.people,
        holds=tuple(
            (use, role)
            for role in dict.fromkeys(node.hold.role for node in steps if node.hold)
            for use in uses.of(node for node in steps if node.hold and node.hold.role == role)
        ),
        seconds=tuple(
            (use, what)
            for what in dict.fromkeys(r.what for node in steps for r in node.readings if r.blind_second)
            for use in uses.of(
                node for node in steps if any(r.blind_second and r.what == what for r in node.readings)
            )
        ),
        helpers=tuple(
            HelperLine(use, words)
            for words in dict.fromkeys(node.helper for node in steps if node.helper)
            for use in uses.of(node for node in steps if node.helper == words)
        ),
        conditions=tuple(StartLine(each.name, each.at_start) for each in procedure.conditions),
        choices=tuple(StartLine(each.name, each.values) for each in procedure.choices),
        states=_states(procedure.items),
        counters=tuple((each.name, each.unit) for each in procedure.counters),
        tools=tuple(
            ToolLine(
                tool.name,
                tool.covers.text if tool.covers else "",
                uses.of(node for node in steps if _takes(node, tool.name)),
                offers(tool.name, proposed),
            )
            for tool in procedure.tools
        ),
        aids=_aids(procedure, steps, uses),
        parts=tuple(
            PartLine(
                part.name,
                part.number or "",
                part.quantity,
                _single_use(procedure.items, part.name),
                used.get(part.name),
                uses.of(node for node in steps if _fits(procedure, node, part.name)),
            )
            for part in procedure.parts
        ),
        supplies=procedure.supplies,
        documents=procedure.documents,
        tightenings=tightenings(
            procedure,
            uses.always,
            uses.of,
            lambda stage: settings_for(stage, toolbox, day),
            lambda stage: torque_in(stage, torque_unit),
        ),
        estimate=estimate(procedure, ways, world),
        put_off=tuple(_put_off(procedure, steps, uses)),
        follow_up=tuple((each.what, each.text) for each in procedure.follow_up),
    )


class Uses:
    """Steps as they stand on the sheet: the same step at several places is one line, where the same is said of all."""

    def __init__(self, procedure: Procedure, ways: Ways, world: World | None) -> None:
        self._procedure, self._ways, self._world = procedure, ways, world
        self._locations = {choice.name for choice in procedure.choices if choice.location}
        self._sure: dict[frozenset[str], bool] = {}

    def of(self, nodes: Iterable[Node]) -> tuple[Use, ...]:
        """The lines of some steps, in the order of the text."""
        groups: dict[tuple[str, When, bool], list[Node]] = {}
        for node in nodes:
            groups.setdefault((node.step, self._ways.when(node), self._chosen(node)), []).append(node)
        return tuple(
            Use(
                step,
                tuple(dict.fromkeys(node.place for node in found if node.place)),
                "" if self._doubtful(when) and self._all_ways(found) else when.words,
                one_place,
            )
            for (step, when, one_place), found in groups.items()
        )

    def always(self, node: Node) -> bool:
        """Whether every way does a step, at the place chosen where one is."""
        if self._ways.when(node).always or not self._chosen(node):
            return self._ways.when(node).always
        return self._all_ways([each for each in self._procedure.nodes if each.step == node.step])

    def _chosen(self, node: Node) -> bool:
        """Whether a step is done at a place chosen at the start only."""
        return any(test.kind == "choice" and test.name in self._locations for test in node.guard)

    @staticmethod
    def _doubtful(when: When) -> bool:
        return not (when.always or when.only or when.detour)

    def _all_ways(self, nodes: list[Node]) -> bool:
        names = frozenset(node.id for node in nodes)
        if names not in self._sure:
            self._sure[names] = unavoidable(self._world, nodes)
        return self._sure[names]


def _takes(node: Node, tool: str) -> bool:
    return tool in node.tools or any(act.tool == tool for act in node.acts)


def _fits(procedure: Procedure, node: Node, part: str) -> bool:
    return any(
        act.verb in ("starts", "fits") and procedure.item_by_key[act.item].part == part for act in node.acts
    )


def _single_use(items: Iterable[Item], part: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(item.name for item in items if item.new_every_time and item.part == part))


def _aids(procedure: Procedure, steps: list[Node], uses: Uses) -> tuple[AidLine, ...]:
    found: dict[str, list[Node]] = {}
    for node in steps:
        for act in node.acts:
            item = procedure.item_by_key[act.item]
            if act.verb == _LAID_IN.get(item.kind):
                found.setdefault(item.name, []).append(node)
    return tuple(AidLine(name, uses.of(nodes)) for name, nodes in found.items())


def _states(items: Iterable[Item]) -> tuple[StartLine, ...]:
    """What the procedure finds not whole."""
    return tuple(
        StartLine(item.label, (item.at_start,)) for item in items if item.at_start != KINDS[item.kind].whole
    )


def _put_off(procedure: Procedure, steps: list[Node], uses: Uses) -> Iterable[PutOffLine]:
    """Put-off steps, those alike at several places together."""
    alike: dict[tuple[str, str, str, str], list[Node]] = {}
    for node in steps:
        if node.put_off is not None:
            words = (node.step, node.put_off.until.text, node.put_off.before.text, node.put_off.because)
            alike.setdefault(words, []).append(node)
    for (_, until, before, because), nodes in alike.items():
        off = nodes[0].put_off
        assert off is not None
        before_words = "the end" if off.before.kind == "end" else before
        latest = off.no_later and (off.no_later[0], _named(procedure.by_id.__getitem__, off.no_later[1]))
        for use in uses.of(nodes):
            yield PutOffLine(use, nodes[0].title, until, before_words, because, latest)


def _named(node: Callable[[str], Node], names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(node(name).step for name in names))
