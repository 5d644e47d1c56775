"""Random procedures: linking never raises, and what is linked refers only to what exists."""

import json

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from runner.procedure.link_whole import link
from runner.procedure.linked import BACK, END, STOP, Exit, Procedure
from runner.procedure.reader import read_procedure

STEPS = ["a", "b", "c", "d", "e", "f"]
ITEMS = {"bolt": "fastener", "lead": "connection", "cap": "cover", "joint": "fitted part"}
VERBS = {
    "bolt": ["loosens", "starts", "tightens"],
    "lead": ["connects"],
    "cap": ["takes off"],
    "joint": ["fits"],
}
VALUES = {"support": ["up", "down"], "power": ["on", "off"]}
LOCATIONS = {"side": ["left", "right"], "end": ["front", "rear"]}


def subset(values):
    return st.lists(st.sampled_from(values), min_size=1, max_size=2, unique=True)


def pair(choices):
    return st.sampled_from(list(choices)).flatmap(
        lambda name: st.tuples(st.just(name), subset(choices[name])).map(lambda found: {found[0]: found[1]})
    )


conditions = pair(VALUES)
guards = st.one_of(conditions, pair({step: ["yes", "no"] for step in STEPS}))
only_for = pair({**LOCATIONS, "brakes": ["discs", "drums"]})
windows = st.one_of(
    conditions,
    st.fixed_dictionaries({"step": st.sampled_from(STEPS)}),
    st.fixed_dictionaries({"at": st.sampled_from(STEPS)}),
    st.fixed_dictionaries({"time": st.just("1 h"), "after": st.sampled_from(STEPS)}),
)
put_off = st.fixed_dictionaries(
    {"until": windows, "before": st.sampled_from([*STEPS, "end"]), "because": st.just("it must")}
)
setting = st.sampled_from(list(VALUES)).flatmap(
    lambda name: st.sampled_from(VALUES[name]).map(lambda value: {name: value})
)
reading = st.fixed_dictionaries(
    {
        "what": st.just("Gap"),
        "name": st.sampled_from(["gap", "play"]),
        "unit": st.just("mm"),
        "band": st.just("none"),
    },
    optional={"times": st.just("2")},
)
work_out = st.fixed_dictionaries(
    {
        "what": st.just("Sum"),
        "name": st.sampled_from(["sum", "half"]),
        "is": st.sampled_from(["gap + play", "gap-1 - gap-2", "sum ÷ 2", "gap × 2 + 1 mm", "play + 1"]),
        "unit": st.just("mm"),
        "band": st.just("none"),
    }
)


def ways(entries):
    def again(then):
        return st.fixed_dictionaries({"again": st.sampled_from(STEPS), "at most": st.just("2"), "then": then})

    simple = st.sampled_from(["go on", "stop"])
    nested = st.tuples(entries, st.lists(st.one_of(st.just("stop"), again(simple)), max_size=1))
    return st.one_of(
        simple, again(st.one_of(simple, entries)), nested.map(lambda found: [*found[0], *found[1]])
    )


def steps(entries):
    def acted(step):
        found = dict(step)
        if "put off" in found:
            found = {
                key: value
                for key, value in found.items()
                if key not in ("sets", "in time", "hold point", "asks")
            }
            found["items"] = found.get("items", ["cap"])[:1]
        for item in found.pop("items", []):
            found[VERBS[item][len(found) % len(VERBS[item])]] = [item]
        answers = found.pop("asks", None)
        if answers:
            return {**found, "ask": "It is", "answers": answers}
        return {**found, "do": "Do it."}

    optional = {
        "items": subset(list(ITEMS)),
        "needs": st.one_of(conditions, pair({item: ["final"] for item in ITEMS})),
        "sets": setting,
        "only if": guards,
        "only for": only_for,
        "read": reading,
        "work out": work_out,
        "put off": put_off,
        "asks": st.dictionaries(st.sampled_from(["yes", "no"]), ways(entries), min_size=1),
        "in time": st.fixed_dictionaries(
            {"from": st.sampled_from(STEPS), "within": st.just("5 min")}, optional={"too late": ways(entries)}
        ),
        "hold point": st.fixed_dictionaries(
            {"released by": st.just("checker"), "asks": st.just("Right?")},
            optional={"if refused": ways(entries)},
        ),
    }
    return st.fixed_dictionaries({"step": st.sampled_from(STEPS)}, optional=optional).map(acted)


def groups(entries):
    optional = {"only if": guards, "only for": only_for}
    repeat = {"each": st.sampled_from(list(LOCATIONS)), "steps": entries}
    return st.one_of(
        st.fixed_dictionaries(repeat, optional=optional),
        st.fixed_dictionaries({"steps": entries}, optional=optional),
        st.fixed_dictionaries({"use": st.sampled_from(["used.yaml", "other.yaml"])}, optional=optional),
    )


leaf = st.lists(
    st.fixed_dictionaries({"step": st.sampled_from(STEPS), "do": st.just("D")}), min_size=1, max_size=2
)
lists = st.recursive(
    leaf, lambda inner: st.lists(st.one_of(steps(inner), groups(inner)), min_size=1, max_size=3), max_leaves=8
)


@st.composite
def sources(draw, name):
    choose = draw(st.booleans())
    side = {"choose at start": LOCATIONS["side"]} if choose else LOCATIONS["side"]
    data = {
        "format": "1",
        "procedure": name,
        "title": "T",
        "revision": "1",
        "fits": "F",
        "sources": ["S"],
        "people": {"performer": "1", "checker": "1"},
        "conditions": {
            one: {"at start": values[0], "changes": {values[0]: [values[1]], values[1]: [values[0]]}}
            for one, values in VALUES.items()
        },
        "locations": {"side": side, "end": LOCATIONS["end"]},
        "variants": {"brakes": ["discs", "drums"]},
        "tools": "none",
        "parts": "none",
        "supplies": "none",
        "close out": ["C"],
        "items": {
            item: {
                "kind": kind,
                **draw(st.sampled_from([{}, {"each": "side"}, {"each": ["end", "side"]}])),
                **({"tighten": [{"snug": "tight"}, {"torque": "50 N·m ±4 %"}]} if kind == "fastener" else {}),
            }
            for item, kind in ITEMS.items()
        },
        "steps": draw(lists),
    }
    rename(data["steps"], iter(STEPS))
    if draw(st.booleans()):
        data["conditions"]["support"]["getting there"] = {
            "up": draw(st.sampled_from([*STEPS, "used.yaml"])),
        }
    if name != "job" and draw(st.booleans()):
        data["leaves open"] = {"cap": "off"}
        data["ends with"] = draw(setting)
    return data


def rename(part, names):
    """Give steps the names that others refer to, in the order of the text, so that few are written twice."""
    for inner in part.values() if isinstance(part, dict) else part:
        if isinstance(inner, dict | list):
            if isinstance(inner, dict) and "step" in inner and ("do" in inner or "ask" in inner):
                inner["step"] = next(names, "z")
            rename(inner, names)


def exits(way: Exit):
    yield way
    if way.limit:
        yield from exits(way.limit.then)


def check_whole(procedure: Procedure) -> None:
    """Nothing in a linked procedure refers to what is not there."""
    ids = [node.id for node in procedure.nodes]
    items = {item.key for item in procedure.items}
    places = {*ids, END, STOP, BACK}
    choices = {choice.name: choice.values for choice in procedure.choices}
    assert len(ids) == len(set(ids))
    assert procedure.first in places
    limits = [
        way.limit.id for node in procedure.nodes for one in node.exits for way in exits(one) if way.limit
    ]
    assert len(limits) == len(set(limits))
    for node in procedure.nodes:
        ways = {way.to for one in node.exits for way in exits(one)}
        assert {node.next, node.skip} | ways <= places
        assert STOP not in {node.next, node.skip}, "only an answer stops"
        assert {act.item for act in node.acts} <= items
        for test in (*node.guard, *node.needs):
            known = {
                "answer": places,
                "item": items,
                "choice": choices,
                "condition": procedure.condition_by_name,
            }[test.kind]
            assert test.name in known
            assert test.values
        for reading in node.readings:
            assert {where for _, where, _ in reading.inputs} <= set(ids)
        if node.put_off:
            due = node.put_off
            assert {*due.until.nodes, *due.before.nodes} <= set(ids)
            assert len({act.item for act in node.acts}) <= 1
        if node.in_time:
            assert set(node.in_time.start) <= set(ids)
    assert Procedure.from_data(json.loads(json.dumps(procedure.to_data()))) == procedure


def link_all(main, used, other):
    read = {}
    for name, data in (("job.yaml", main), ("used.yaml", used), ("other.yaml", other)):
        read[name], found = read_procedure(json.dumps(data, ensure_ascii=False).encode(), name)
        if read[name] is None:
            event(f"not read: {found[0].rule} {found[0].message}")
            return
    procedure, found = link(read["job.yaml"], lambda path, mark: read[path])
    assert (procedure is None) == any(one.grade == "error" for one in found)
    if procedure is None:
        event(f"refused: {found[0].rule}")
        for one in found:
            assert one.line >= 1
            assert one.message
        return
    event("linked")
    check_whole(procedure)


@given(sources("job"), sources("used"), sources("other"))
@settings(max_examples=40, deadline=None)
def test_linking_is_total(main, used, other):
    link_all(main, used, other)


@pytest.mark.deep
@given(sources("job"), sources("used"), sources("other"))
@settings(max_examples=1500, deadline=None)
def test_linking_is_total_deep(main, used, other):
    link_all(main, used, other)
