"""When a step is done, in words: nothing is said that some way does not keep to."""

import random

import networkx
import pytest

from runner.procedure.linked import Procedure
from runner.ready.ways import Place, Ways, dominators
from tests.procedure.procedure_text import linked

JOB = """\
conditions: {support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]},
  getting there: {on wheels: down}}}
variants: {lamps: [plain, fancy]}
steps:
  - {step: up, do: Up., sets: {support: raised}}
  - step: boot
    ask: The boot is
    answers:
      whole: go on
      torn:
        - step: joint
          ask: The joint is
          answers:
            good: go on
            worn:
              - {step: renew, do: Renew it.}
        - {step: note, do: Note it.}
      gone: stop
  - {step: paint, do: Paint., only if: {boot: torn}}
  - {step: plug, do: Plug., only for: {lamps: fancy}}
  - {step: low, do: Low., only if: {support: on wheels}}
  - {step: down, do: Down., sets: {support: on wheels}}
"""


def when(procedure: Procedure, node: str) -> str:
    return Ways(procedure).when(procedure.by_id[node]).words


@pytest.mark.parametrize(
    ("node", "words"),
    [
        ("up", ""),
        ("boot", ""),
        ("joint", "only if boot: torn"),
        ("renew", "only if boot: torn; only if joint: worn"),
        ("note", "only if boot: torn"),
        ("paint", "only if boot: torn"),
        ("plug", "only for lamps: fancy"),
        ("low", "only if support: on wheels"),
        ("down", ""),
        ("detour:support=on wheels/down", "only on the way back to support: on wheels"),
    ],
)
def test_a_step_is_said_to_be_done_under_what_no_way_to_it_leaves_out(node, words):
    assert when(linked(JOB), node) == words


def test_where_two_ways_lead_to_a_step_only_what_both_have_in_common_is_said():
    body = """\
steps:
  - step: boot
    ask: The boot is
    answers:
      whole: go on
      torn:
        - step: mend
          ask: The mend is
          answers: {good: go on, bad: {again: boot, at most: 2, then: stop}}
  - {step: last, do: Last.}
"""
    made = linked(body)
    assert when(made, "mend") == "only if boot: torn"
    assert when(made, "last") == ""


def test_a_refused_hold_point_and_a_time_that_is_over_are_ways_too():
    body = """\
steps:
  - {step: mix, do: Mix.}
  - step: spread
    do: Spread.
    in time: {from: mix, within: 5 min, too late: [{step: scrape, do: Scrape.}, {again: mix, at most: 1, then: stop}]}
  - step: look
    do: Look.
    hold point:
      released by: checker
      asks: Good?
      if refused: [{step: mend, do: Mend.}, {again: look, at most: 1, then: stop}]
"""
    made = linked(body)
    assert when(made, "scrape") == "only if spread: too late"
    assert when(made, "mend") == "only if look: refused"


def _random(seed: int) -> str:
    """Questions in questions, with guards, ways back and ways that stop."""
    chance = random.Random(seed)
    asked: list[str] = []
    number = [0]

    def block(depth: int, indent: str) -> list[str]:
        lines = []
        for _ in range(chance.randint(1, 3)):
            number[0] += 1
            name = f"s{number[0]}"
            if depth < 3 and chance.random() < 0.5:
                lines += [f"{indent}- step: {name}", f"{indent}  ask: Which", f"{indent}  answers:"]
                back = chance.choice([None, name])
                lines.append(f"{indent}    x: {chance.choice(['go on', 'stop'])}")
                inner = block(depth + 1, indent + "        ")
                lines += [f"{indent}    y:", *inner]
                lines.append(
                    f"{indent}    z: {'{again: ' + back + ', at most: 2, then: stop}' if back else 'go on'}"
                )
                asked.append(name)
            else:
                # Only what is surely asked before can be a guard; the first question of the top is.
                guard = f", only if: {{q: {chance.choice('ab')}}}" if chance.random() < 0.3 else ""
                lines.append(f"{indent}- {{step: {name}, do: Do.{guard}}}")
        return lines

    head = ["steps:", "  - {step: q, ask: Which, answers: {a: go on, b: go on}}"]
    return "\n".join([*head, *block(0, "  "), "  - {step: last, do: Last.}"]) + "\n"


@pytest.mark.parametrize("seed", range(60))
def test_random_walks_never_come_to_a_step_but_as_is_said_of_it(seed):
    """Oracle: walks over `exits`, `skip` and `next` that keep the labels taken and the guards met."""
    made, chance = linked(_random(seed)), random.Random(seed)
    ways = Ways(made)
    done: set[str] = set()
    ended, everywhere = 0, {node.id for node in made.nodes}
    for _ in range(200):
        here, told, met = made.first, {}, set()
        for _ in range(400):
            node = made.by_id.get(here)
            if node is None:
                break
            if node.guard and not all(told.get(test.name) in test.values for test in node.guard):
                here = node.skip
                continue
            for word in filter(None, ways.when(node).words.split("; ")):
                name, _, label = word.removeprefix("only if ").partition(": ")
                assert told.get(name) == label
            met.add(node.id)
            way = chance.choice(node.exits) if node.exits else None
            if way is not None:
                told[node.step] = way.label
            here = node.next if way is None else way.to if chance.random() < 0.7 or not way.limit else "stop"
        done |= met
        if here == "end":
            ended += 1
            everywhere &= met
    assert done
    for node in made.nodes:
        if ended and ways.when(node).always:
            assert node.id in everywhere


@pytest.mark.parametrize("seed", range(80))
def test_what_no_way_leaves_out_is_what_networkx_finds(seed):
    """Oracle: networkx 3, immediate dominators of random graphs, circles and dead ends among them."""
    chance = random.Random(seed)
    size = chance.randint(1, 30)
    places = [Place("do", str(number)) for number in range(size)]
    ahead = {place: chance.choices(places, k=chance.randint(0, 3)) for place in places}
    graph = networkx.DiGraph([(a, b) for a in places for b in ahead[a]])
    graph.add_node(places[0])
    wanted = dict(networkx.immediate_dominators(graph, places[0]))
    wanted[places[0]] = places[0]
    assert dominators(ahead, places[0]) == wanted
