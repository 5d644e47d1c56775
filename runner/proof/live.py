"""The proof asked live: from where a job stands after an act that leaves the plan, what still closes everything.

The same exploration as before the job, from the job's own state. What is owed off the plan becomes put-off work like
any other: it waits for what the engine makes it wait for, and is due where the engine makes it due. What this work
piece does not have is passed by.
"""

from collections.abc import Iterator

from runner.job.gates import Gates, Outlook
from runner.job.state import Job, Owed, Progress
from runner.job.windows import ready, steps_ahead
from runner.procedure.linked import BACK, DETOUR, Node, Procedure
from runner.proof.chances import gates_of
from runner.proof.control import Place, TooManyStates
from runner.proof.deciding import LARGEST_EXACT, budget_of
from runner.proof.deeds import Breach
from runner.proof.owed_steps import done_in_hand, in_order_of_work, key_of, name_of, owed_step
from runner.proof.redirect import led_elsewhere
from runner.proof.report import Words, step_words
from runner.proof.transfers import bits_of
from runner.proof.units import SEEN, SHUT, TooEntangled, Unit, units_of
from runner.proof.variables import NEVER, UNSET, Variable, variables_of
from runner.proof.world import Beginning, World, explored, main_line

AGAIN = "again: "
"""Before the name of the step in hand, where some way ahead leads back to it: then it is done from its beginning."""


def ahead(job: Job) -> Outlook:
    """What lies ahead of a job. Where it cannot be decided, that is said: the last chances that stood go on to stand,
    while the states allowed so far are those of the plan that was left.
    """
    procedure = _remaining(job)
    world = _explored(job, procedure)
    if world is None:
        why = "it cannot be decided here what still closes everything: too much hangs together"
        return Outlook(job.gates.model_copy(update={"allowed": {}}), lost=(("", why),))
    gates = _gates(job, world)
    return Outlook(
        gates,
        closes=tuple(_closes(job, world)),
        lost=tuple(_lost(job, world, procedure)),
        until=tuple(_until(job, world, gates)),
    )


def _explored(job: Job, procedure: Procedure) -> World | None:
    """What can still happen. Where that is too much with every way back counted, ways back are not counted: then more
    ways are looked at than there are.
    """
    line = main_line(procedure) | {name_of(owed) for owed in job.owed.values()}
    try:
        units = units_of(procedure, line)
    except TooEntangled:
        return None
    every = variables_of(procedure)
    values = {variable: _value(job, variable) for variable in every}
    states = tuple(_unit_state(job, procedure, unit) for unit in units)
    beginning = Beginning(procedure.first, values, states)
    uncounted = [variable for variable in every if variable[0] != "loop"]
    tries = [every, uncounted] if len(procedure.nodes) <= LARGEST_EXACT else [uncounted]
    for tracked in tries:
        try:
            return explored(procedure, units, tracked, budget_of(procedure), beginning)
        except TooManyStates:
            continue
    return None


def _own(name: str) -> str:
    """The key of what is owed, or the step, that an explored one stands for."""
    return key_of(name).removeprefix(AGAIN)


def _remaining(job: Job) -> Procedure:
    """The procedure as far as this job still has it, from where it goes on, with what is owed as put-off steps."""
    nodes = [_for_this_job(job, node) for node in job.procedure.nodes]
    nodes = _begun(job, nodes, job.at, _on_the_line(job))
    if job.detour:
        # Only now: a detour leads back to the step as it is in hand, not to one that is done again.
        nodes = _from_the_detour(job, nodes)
    nodes = _put_off_ahead(job, nodes)
    steps = [node for node in nodes if node.put_off is None or node.id not in job.owed]
    nodes += [
        owed_step(job, owed, steps) for owed in job.owed.values() if owed.kind in ("unplanned", "again")
    ]
    return _of_steps(job, in_order_of_work(job, nodes))


def _from_the_detour(job: Job, nodes: list[Node]) -> list[Node]:
    """The steps, where the detour that is under way leads back to the step that it interrupted."""
    nodes = [led_elsewhere(node, BACK, job.at) for node in nodes]
    straight = [
        node.model_copy(update={"put_off": None}) if node.put_off and node.id.startswith(DETOUR) else node
        for node in nodes
    ]
    return _begun(job, straight, job.detour, job.progress)


def _begun(job: Job, nodes: list[Node], at: str, progress: Progress) -> list[Node]:
    """The steps, where what is left of the one in hand is all that is still to be done there at this pass."""
    procedure = job.procedure
    if at not in procedure.by_id or not progress.begun:
        return nodes
    place = list(procedure.by_id).index(at)
    if at in steps_ahead(procedure, at):
        nodes = [led_elsewhere(node, at, AGAIN + at) for node in nodes]
        nodes.append(nodes[place].model_copy(update={"id": AGAIN + at}))
    return [*nodes[:place], _in_hand(job, progress, nodes[place]), *nodes[place + 1 :]]


def _of_steps(job: Job, nodes: list[Node]) -> Procedure:
    """The job's procedure with other steps, from where the job stands."""
    fields = {name: getattr(job.procedure, name) for name in Procedure.model_fields}
    return Procedure.model_construct(**{**fields, "nodes": tuple(nodes), "first": job.detour or job.at})


def _put_off_ahead(job: Job, nodes: list[Node]) -> list[Node]:
    """The steps, of which only those ahead or owed are put off still: what lies behind is waited for no more, nor does
    it wait for what is owed again on its item.
    """
    kept = main_line(_of_steps(job, nodes)) | job.owed.keys()
    return [
        node if node.put_off is None or node.id in kept else node.model_copy(update={"put_off": None})
        for node in nodes
    ]


def _for_this_job(job: Job, node: Node) -> Node:
    """The step without what this work piece does not have; one that is not there at all is passed."""
    gone = {item for item, state in job.ledger.items() if state.not_applicable}
    done = done_in_hand(job, node.id) if node.put_off is not None else frozenset[int]()
    if not gone and not job.not_applicable and not done:
        return node
    acts = tuple(act for index, act in enumerate(node.acts) if act.item not in gone and index not in done)
    absent = node.acts and not node.sets and all(act.item in gone for act in node.acts)
    if node.id in job.not_applicable or absent:
        return Node(id=node.id, step=node.step, mark=node.mark, joint="not applicable", guard=node.guard,
                    skip=node.skip, next=node.next)  # fmt: skip
    needs = tuple(test for test in node.needs if test.name not in gone)
    return node.model_copy(update={"acts": acts, "needs": needs})


def _on_the_line(job: Job) -> Progress:
    """How far the main line's step is."""
    return job.set_aside[0][2] if job.set_aside else job.progress


def _in_hand(job: Job, progress: Progress, rest: Node) -> Node:
    """The rest of a step of which a part is done."""
    node = job.procedure.by_id[rest.id]
    acts = tuple(
        act
        for index, act in enumerate(node.acts)
        if index not in progress.acts and not job.ledger[act.item].not_applicable
    )
    own = {act.item for act in node.acts}
    needs = () if "need" in progress.waived else tuple(
        test for test in rest.needs if not (progress.acts and test.kind == "item" and test.name in own)
    )  # fmt: skip
    return rest.model_copy(update={"acts": acts, "needs": needs, "guard": (), "put_off": None})


def _value(job: Job, variable: Variable) -> object:
    """What a variable of the control stands at."""
    kind, name = variable
    if kind == "condition":
        stands = job.conditions.get(name, "")
        return job.found.get(name, stands) if job.detour else stands
    if kind == "answer":
        return job.answers.get(name, NEVER)
    if kind == "choice":
        return job.choices.get(name, UNSET)
    if kind == "loop":
        return job.loops.get(name, 0)
    return name in job.done


def _unit_state(job: Job, procedure: Procedure, unit: Unit) -> int:
    """The state of a unit in the job."""
    state = 0
    for item in unit.items:
        state = unit.with_item(state, item, job.state_of(item))
    for name in unit.offs:
        owed = job.owed.get(_own(name))
        if owed is not None:
            state = unit.with_off(state, name, SEEN if _could_be_done(job, owed) else SHUT)
    for kind, name in unit.flags:
        node = procedure.by_id.get(name)
        is_set = {
            "done": name in job.done,
            "entered": name in job.done or (node is not None and job.at == name and _entered(job, node)),
            "fresh": name in job.ledger and job.ledger[name].fresh,
        }[kind]
        if is_set:
            state = unit.with_flag(state, (kind, name))
    return state


def _could_be_done(job: Job, owed: Owed) -> bool:
    """Whether the window of something owed is open, so that whoever passes it by does so knowingly.

    Work off the plan is shown from the moment it is owed, open or not.
    """
    return owed.status != "waiting" if owed.kind == "put off" else ready(job, owed)


def _entered(job: Job, node: Node) -> bool:
    taken = _on_the_line(job).taken
    return all(r.kind == "worked out" or taken.get(r.name, 0) >= r.times for r in node.readings)


def _gates(job: Job, world: World) -> Gates:
    """The gates by the steps and keys of the job. The step in hand has its gate already: only its next pass counts."""
    own = {name: name for name in job.procedure.by_id if not name.startswith(DETOUR)}
    if AGAIN + job.at in world.procedure.by_id:
        own[job.at] = AGAIN + job.at
    elif job.at in own and _on_the_line(job).begun:
        del own[job.at]
    gates = gates_of(world, own)
    chances = {
        name: tuple(_own(off) for off in offs)
        for name, offs in gates.last_chance.items()
        if name in own and own[name] == name
    }
    return gates.model_copy(
        update={"last_chance": chances, "allowed": {} if _answers_twice(job, world) else gates.allowed}
    )


def _answers_twice(job: Job, world: World) -> bool:
    """Whether a step goes by the answer of the step in hand, which may be answered once more: that is not followed."""
    return AGAIN + job.at in world.procedure.by_id and any(
        test.kind == "answer" and test.name == job.at for node in job.procedure.nodes for test in node.guard
    )


def _lost(job: Job, world: World, procedure: Procedure) -> Iterator[tuple[str, str]]:
    """What nothing closes any more on some way ahead, and steps whose gate will be shut."""
    words = Words(procedure)
    for breach in sorted(world.broken, key=lambda one: one):
        if breach.rule in ("hazard-unannounced", "agreement-broken") or not _concerns(job, breach):
            continue
        if breach.rule == "left-open":
            state = job.ledger[breach.subject]
            if state.not_applicable:
                continue
            yield breach.subject, words.short(breach, _at_the_end(world, breach.subject))
        else:
            yield _own(breach.node), words.short(breach, "")


def _concerns(job: Job, breach: Breach) -> bool:
    return breach.rule != "left-open" or job.exists(breach.subject)


def _at_the_end(world: World, item: str) -> str:
    """How an item can still stand at the end, least advanced first."""
    unit = world.ledger.unit_of[item]
    table = world.ledger.table(item)
    states = {
        unit.item_state(local, item)
        for state, place in enumerate(world.control.places)
        if place is Place.FINISH
        for local in bits_of(world.ledger.part(world.sets[state], unit))
    }
    return next((state for state in table.states if state in states and state not in table.finals), "")


def _closes(job: Job, world: World) -> Iterator[str]:
    """For every item that is open now: the steps ahead that bring it on to where it is closed."""
    reached = world.reached
    for item in job.procedure.items:
        if not job.exists(item.key) or job.is_final(item.key):
            continue
        steps = [
            node
            for node in world.procedure.nodes
            if node.id in reached and any(act.item == item.key for act in node.acts)
        ]
        if steps:
            yield f"{item.label}: {step_words(steps[-1])}"


def _until(job: Job, world: World, gates: Gates) -> Iterator[tuple[str, str]]:
    """Before what each thing owed is done at the latest: the first place ahead that insists on it."""
    reached = world.reached - {name_of(owed) for owed in job.owed.values()}
    order = [node for node in world.procedure.nodes if node.id in reached]
    for key, owed in job.owed.items():
        if owed.kind == "extra":
            continue
        step = world.procedure.by_id[name_of(owed)]
        put_off = step.put_off
        assert put_off is not None
        due = set(put_off.before.nodes) | {name for name, offs in gates.last_chance.items() if key in offs}
        first = next((node for node in order if node.id in due), None)
        if first is not None:
            yield key, f'before "{first.title.rstrip(".")}"'
        else:
            text = put_off.before.text if put_off.before.kind == "condition" else ""
            yield key, f"before {text}" if text else "before the end"
