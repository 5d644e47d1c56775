"""The fasteners that a procedure tightens, stage by stage, those alike at several places as one."""

from collections.abc import Callable, Iterable
from decimal import Decimal

from runner.job.tightening import torque_stage
from runner.job.way import stages_meant
from runner.job.words import about_words
from runner.joint.pattern import sources
from runner.map.words import guard_words
from runner.procedure.linked import Act, Item, Node, Procedure, Stage
from runner.quantities import show
from runner.ready.facts import SettingLine, StageLine, TighteningLine, Use


def tightenings(
    procedure: Procedure,
    always: Callable[[Node], bool],
    uses: Callable[[Iterable[Node]], tuple[Use, ...]],
    settings: Callable[[Stage], tuple[SettingLine, ...]],
    other: Callable[[Stage], str],
) -> tuple[TighteningLine, ...]:
    """Every item with a stage that some step gives, in the order of the steps; only the stages that are given."""
    done = _done(procedure, always)
    alike: dict[Item, list[Item]] = {}
    for key in dict.fromkeys(key for key, _ in done):
        item = procedure.item_by_key[key]
        alike.setdefault(item.model_copy(update={"key": "", "place": "", "exists": ()}), []).append(item)
    locations = {choice.name for choice in procedure.choices if choice.location}
    return tuple(
        TighteningLine(
            item=items[0].name,
            places=tuple(dict.fromkeys(item.place for item in items if item.place)),
            one_place=any(test.name in locations for item in items for test in item.exists),
            count=items[0].count,
            thread=items[0].thread or "",
            strength=items[0].strength or "",
            about=about_words(items[0]),
            critical=items[0].critical,
            stages=tuple(
                _stage(number, stage, items[0], uses(nodes), settings(stage), other(stage))
                for number, stage in enumerate(items[0].stages, start=1)
                if (nodes := [node for item in items for node in done.get((item.key, number), ())])
            ),
        )
        for items in alike.values()
    )


def _done(procedure: Procedure, always: Callable[[Node], bool]) -> dict[tuple[str, int], list[Node]]:
    """By (ledger key, stage), the steps that give it. A step that gives what is left gives no stage that another step
    of every way is there for.
    """
    acts = [(node, act) for node in procedure.nodes for act in node.acts]
    named = {
        (act.item, number)
        for node, act in acts
        if act.stages is not None and always(node)
        for number in _numbers(act, procedure.item_by_key[act.item])
    }
    done: dict[tuple[str, int], list[Node]] = {}
    for node, act in acts:
        item = procedure.item_by_key[act.item]
        for number in _numbers(act, item):
            left = act.verb == "tightens" and act.stages is None and len(item.stages) > 1
            if not (left and (act.item, number) in named):
                done.setdefault((act.item, number), []).append(node)
    return done


def _numbers(act: Act, item: Item) -> Iterable[int]:
    """The stages that an act gives."""
    if act.verb == "tightens":
        return stages_meant(act, len(item.stages))
    number = torque_stage(item) if act.verb == "re-tightens" else None
    return (number,) if number else ()


def _stage(
    number: int,
    stage: Stage,
    item: Item,
    uses: tuple[Use, ...],
    settings: tuple[SettingLine, ...],
    other: str,
) -> StageLine:
    return StageLine(
        number=number,
        kind=stage.kind,
        target=_target(stage),
        other=other,
        band=stage.band.text if stage.band else "",
        share=stage.share or "",
        final_pass=stage.final_pass,
        order=stage.order if item.count > 1 else "",
        only_when=guard_words(stage.only_when),
        methods=stage.methods,
        uses=uses,
        settings=settings,
        order_sources=sources(stage.order, item.count) if item.count > 1 else (),
    )


def _target(stage: Stage) -> str:
    """The torque or angle asked; where the author wrote a band and no target, its words."""
    if stage.target is None or stage.unit is None:
        return "" if stage.kind == "snug" else stage.text
    return show(Decimal(stage.target), stage.unit)
