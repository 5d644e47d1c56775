"""Everything the linker refuses, each at its exact place (marked ▶) and with its own rule word."""

import pytest
from procedure_text import HERE, errors, marked

SUPPORT = """
conditions:
  support: {at start: on wheels, changes: {on wheels: [raised], raised: [on wheels]}}
"""
SIDES = "locations: {side: [left, right]}\n"
BOLT = "items: {bolt: {kind: fastener, each: side, tighten: [{snug: tight}]}}\n"
LEAD = "items: {lead: {kind: connection}}\n"
ASKED = """
  - step: boot
    ask: The boot is
    answers: {whole: go on, torn: go on}
"""

REFUSED = [
    # conditions, in guards, needs, sets and stages
    ("unknown-condition", "is no condition", SUPPORT + "steps: [{step: a, do: A, sets: {▶suport: raised}}]"),
    ("unknown-value", "is no value of", SUPPORT + "steps: [{step: a, do: A, sets: {support: ▶rised}}]"),
    ("sets", "no change of", """
conditions:
  oil: {at start: full, changes: {full: [drained], drained: [], fresh: [drained]}}
steps: [{step: a, do: A, sets: {oil: ▶fresh}}]"""),
    ("unknown-guard", "no condition or step", "steps: [{step: a, do: A, only if: {▶nothing: x}}]"),
    ("only-if-source", "is an item", LEAD + "steps: [{step: a, do: A, only if: {▶lead: connected}}]"),
    ("only-if-source", "is a reading", """
steps:
  - {step: a, read: {what: Gap, name: gap, unit: mm, band: none}}
  - {step: b, do: B, only if: {▶gap: 3}}"""),
    ("only-if-source", "is a variant", """
variants: {brakes: [discs, drums]}
steps: [{step: a, do: A, only if: {▶brakes: discs}}]"""),
    ("two-meanings", "both a condition and a step", SUPPORT + """
steps:
  - {step: support, ask: Up?, answers: {raised: go on}}
  - {step: b, do: B, only if: {▶support: raised}}"""),
    ("answer", "asks nothing", "steps: [{step: a, do: A}, {step: b, do: B, only if: {▶a: x}}]"),
    ("answer", "chooses no way (R3)", SUPPORT + """
steps:
  - {step: a, ask: How, answers: {x: go on, y: go on},
     put off: {until: {support: raised}, before: end, because: rest}}
  - {step: b, do: B, only if: {▶a: x}}
  - {step: up, do: Up, sets: {support: raised}}"""),
    ("answer", "comes later", f"steps:\n  - {{step: a, do: A, only if: {{▶boot: torn}}}}{ASKED}"),
    ("answer", "comes later", """
steps: [{step: a, ask: A, answers: {x: go on}, only if: {▶a: x}}]"""),
    ("unknown-answer", "no answer of", f"steps:{ASKED}  - {{step: b, do: B, only if: {{boot: ▶turn}}}}"),
    ("several-places", "left, right", SIDES + """
steps:
  - each: side
    steps: [{step: boot, ask: The boot is, answers: {whole: go on, torn: go on}}]
  - {step: b, do: B, only if: {▶boot: torn}}"""),
    ("no-place", "not asked at this place", SIDES + """
steps:
  - each: side
    steps:
      - {step: boot, ask: It is, answers: {whole: go on}, only for: {side: left}}
      - {step: b, do: B, only if: {▶boot: whole}}"""),
    ("unknown-need", "no condition or item", "steps: [{step: a, do: A, needs: {▶lead: connected}}]"),
    ("unknown-state", "no state of a connection", LEAD + "steps: [{step: a, do: A, needs: {lead: ▶in}}]"),
    ("needs-source", "is a step", "steps: [{step: a, do: A}, {step: b, do: B, needs: {▶a: done}}]"),
    ("only-when-source", "`only when` reads conditions only", """
items:
  lead: {kind: connection}
  bolt: {kind: fastener, tighten: [{snug: tight, only when: {▶lead: connected}}]}
steps: [{step: a, tightens: [bolt]}]"""),
    # items, acts and tools
    ("two-meanings", "is a condition too", SUPPORT + "items: {▶support: {kind: aid}}\nsteps: [{step: a, do: A}]"),
    ("unknown-location", "no location", "items: {lead: {kind: connection, each: ▶side}}\nsteps: [{step: a, do: A}]"),
    ("unknown-part", "no part", "items: {pipe: {kind: fitted part, part: ▶pipe}}\nsteps: [{step: a, do: A}]"),
    ("unknown-item", "no item", LEAD + "steps: [{step: a, disconnects: [▶leed]}]"),
    ("verb", "not done to a connection", LEAD + "steps: [{step: a, loosens: [▶lead]}]"),
    ("stages", "no stage 2", SIDES + BOLT + "steps: [{step: a, tightens: {▶bolt: stage 2}}]"),
    ("no-band", "cannot be judged", """
items: {bolt: {kind: fastener, tighten: [▶{torque: 50 N·m}]}}
steps: [{step: a, tightens: [bolt]}]"""),
    ("stage-method", "a stage by angle has no method", """
items: {bolt: {kind: fastener, tighten: [▶{angle: 90°, method: click}]}}
steps: [{step: a, tightens: [bolt]}]"""),
    ("unknown-tool", "no tool", "tools: [{name: wrench}]\nsteps: [{step: a, do: A, tools: [▶wrensh]}]"),
    # repeats and choices
    ("unknown-location", "no location", SIDES + "steps: [{each: ▶sied, steps: [{step: a, do: A}]}]"),
    ("repeat-in-repeat", "already inside", SIDES + """
steps: [{each: side, steps: [{each: ▶side, steps: [{step: a, do: A}]}]}]"""),
    ("never-done", "at no place", SIDES + """
steps:
  - {step: a, do: A}
  - {each: side, only for: {side: left}, steps: [{step: ▶b, do: B, only for: {side: right}}]}"""),
    ("unknown-choice", "no variant or location", SIDES + "steps: [{step: a, do: A, only for: {▶brakes: x}}]"),
    ("unknown-value", "no value of", """
variants: {brakes: [discs, drums]}
steps: [{step: a, do: A, only for: {brakes: ▶disks}}]"""),
    ("only-for-place", "not inside its repeat", SIDES + "steps: [{step: a, do: A, only for: {▶side: left}}]"),
    ("two-meanings", "is a location too", SIDES + "variants: {▶side: [a, b]}\nsteps: [{step: a, do: A}]"),
    # steps and ways
    ("double-name", "already written in line 13", "steps:\n  - {step: a, do: A}\n  - {step: ▶a, do: B}"),
    ("double-name", "already written", """
steps:
  - {step: a, read: {what: Gap, name: gap, unit: mm, band: none}}
  - {step: b, read: {what: Gap, name: ▶gap, unit: mm, band: none}}"""),
    ("double-name", 'one of the readings of "gap"', """
steps:
  - {step: a, read: {what: Gap, name: gap, times: 3, unit: mm, band: none}}
  - {step: b, read: {what: Gap, name: ▶gap-2, unit: mm, band: none}}"""),
    ("unknown-step", "no step", """
steps: [{step: a, ask: A, answers: {x: {again: ▶b, at most: 2, then: stop}}}]"""),
    ("way-back", "comes later", """
steps:
  - {step: a, ask: A, answers: {x: {again: ▶b, at most: 2, then: stop}, y: go on}}
  - {step: b, do: B}"""),
    ("way-back", "cannot go back into that", SIDES + """
steps:
  - {each: side, steps: [{step: a, do: A}]}
  - {step: b, ask: B, answers: {x: {again: ▶a, at most: 2, then: stop}, y: go on}}"""),
    ("way-back", "cannot go back into that", """
steps:
  - {step: a, ask: A, answers: {x: [{step: inner, do: I}], y: go on}}
  - {step: b, ask: B, answers: {x: {again: ▶inner, at most: 2, then: stop}, y: go on}}"""),
    ("way-back", "not done at this place", SIDES + """
steps:
  - each: side
    steps:
      - {step: a, do: A, only for: {side: left}}
      - {step: b, ask: B, answers: {x: {again: ▶a, at most: 2, then: stop}, y: go on}}"""),
    ("not-reached", "can never be reached", """
steps:
  - {step: a, ask: A, answers: {x: stop, y: stop}}
  - {step: ▶b, do: B}
  - {step: c, do: C}"""),
    ("not-reached", "can never be reached", """
steps:
  - step: a
    ask: A
    answers: {x: [{step: one, do: One}, {again: a, at most: 3, then: stop}], y: stop}
  - {step: ▶b, do: B}"""),
    # readings
    ("unknown-reading", "no reading", """
steps: [{step: a, work out: ▶{what: Sum, name: sum, is: gap + 1 mm, unit: mm, band: none}}]"""),
    ("formula", "comes later", """
steps:
  - {step: a, work out: ▶{what: Sum, name: sum, is: gap + 1 mm, unit: mm, band: none}}
  - {step: b, read: {what: Gap, name: gap, unit: mm, band: none}}"""),
    ("formula", "comes later", """
steps:
  - step: a
    work out:
      - ▶{what: One, name: one, is: two + 1, unit: count, band: none}
      - {what: Two, name: two, is: 1 + 1, unit: count, band: none}"""),
    ("formula", "name gap-1 to gap-3", """
steps:
  - {step: a, read: {what: Gap, name: gap, times: 3, unit: mm, band: none}}
  - {step: b, work out: ▶{what: Sum, name: sum, is: gap + 1 mm, unit: mm, band: none}}"""),
    ("formula", "a text, not a number", """
steps:
  - {step: a, read: {what: Number, name: label, text: part number}}
  - {step: b, work out: ▶{what: Sum, name: sum, is: label + 1 mm, unit: mm, band: none}}"""),
    ("formula", "cannot be added", """
steps:
  - {step: a, read: {what: Gap, name: gap, unit: mm, band: none}}
  - {step: b, work out: ▶{what: Sum, name: sum, is: gap + 1 N·m, unit: mm, band: none}}"""),
    ("formula", "the result is", """
steps:
  - {step: a, read: {what: Gap, name: gap, unit: mm, band: none}}
  - {step: b, work out: ▶{what: Sum, name: sum, is: gap × 2, unit: N·m, band: none}}"""),
    ("several-places", "read at several places", SIDES + """
steps:
  - {each: side, steps: [{step: a, read: {what: Gap, name: gap, unit: mm, band: none}}]}
  - {step: b, work out: ▶{what: Sum, name: sum, is: gap × 2, unit: mm, band: none}}"""),
    # hold points, time, windows
    ("hold-role", "does not perform", """
steps: [{step: a, do: A, hold point: {released by: ▶performer, asks: Right?}}]"""),
    ("hold-role", "no role", "steps: [{step: a, do: A, hold point: {released by: ▶cheker, asks: Right?}}]"),
    ("in-time", "does not come earlier", """
steps: [{step: a, do: A, in time: {from: ▶b, within: 10 min}}, {step: b, do: B}]"""),
    ("unknown-step", "no step", "steps: [{step: a, do: A, in time: {from: ▶b, within: 10 min}}]"),
    ("put-off", "there are several (R3)", SIDES + BOLT + """
steps:
  - {step: a, tightens: [▶bolt], put off: {until: {time: 1 h, after: b}, before: end, because: x}}
  - {step: b, do: B}"""),
    ("window", "is this step itself", """
steps: [{step: a, do: A, put off: {until: {step: ▶a}, before: end, because: x}}]"""),
    ("window", "never opens", """
steps: [{step: a, do: A}, {step: b, do: B, put off: {until: {at: ▶a}, before: end, because: x}}]"""),
    ("window", "before a later step", """
steps: [{step: a, do: A}, {step: b, do: B, put off: {until: {step: a}, before: ▶a, because: x}}]"""),
    ("window", "`until` reads conditions only", LEAD + """
steps: [{step: a, do: A, put off: {until: {▶lead: connected}, before: end, because: x}}]"""),
    ("unknown-value", "no value of", SUPPORT + """
steps: [{step: a, do: A, put off: {until: {support: raised}, before: {support: ▶up}, because: x}}]"""),
    ("unknown-step", "no step", """
steps:
  - step: a
    do: A
    put off: {until: {at: b}, before: end, no later than: {time: 1 h, after: ▶c}, because: x}
  - {step: b, do: B}"""),
    # the head
    ("unknown-step", "no step", """
standing: [{notice: {hazard: a, consequence: b, avoid: c}, from: a, to: ▶z}]
steps: [{step: a, do: A}]"""),
    ("standing", "comes before", """
standing: [{notice: {hazard: a, consequence: b, avoid: c}, from: b, to: ▶a}]
steps: [{step: a, do: A}, {step: b, do: B}]"""),
    ("unknown-value", "no value of a condition", SUPPORT + """
make safe: {▶lifted: [Lower it]}
steps: [{step: a, do: A}]"""),
    ("double-name", "already written", "tools: [{name: wrench}, ▶{name: wrench}]\nsteps: [{step: a, do: A}]"),
    ("unknown-location", "no location", "parts: [{name: pipe, each: ▶side}]\nsteps: [{step: a, do: A}]"),
    # detours
    ("unknown-step", "no step", """
conditions:
  support:
    {at start: down, changes: {down: [up], up: [down]}, getting there: {up: ▶lift}}
steps: [{step: raise, do: R, sets: {support: up}}]"""),
    ("detour", "does not set support to up", """
conditions:
  support:
    {at start: down, changes: {down: [up], up: [down]}, getting there: {up: ▶lower}}
steps: [{step: lower, do: L, sets: {support: down}}]"""),
    ("detour", "inside a repeat", """
conditions:
  support:
    {at start: down, changes: {down: [up], up: [down]}, getting there: {up: ▶raise}}
locations: {side: [left, right]}
steps: [{each: side, steps: [{step: raise, do: R, sets: {support: up}}]}]"""),
    ("way-back", "outside this detour", """
conditions:
  support:
    {at start: down, changes: {down: [up], up: [down]}, getting there: {up: raise}}
steps:
  - {step: a, do: A}
  - {step: raise, ask: R, answers: {no: {again: ▶a, at most: 2, then: stop}, yes: go on}, sets: {support: up}}"""),
    ("contract", "`at start` says otherwise", """
takes over: {lead: disconnected}
items: {lead: {kind: connection, at start: ▶connected}}
steps: [{step: a, connects: [lead]}]"""),
    ("unknown-item", "no item", "leaves open: {▶lead: disconnected}\nsteps: [{step: a, do: A}]"),
    ("unknown-condition", "no condition", "ends with: {▶support: up}\nsteps: [{step: a, do: A}]"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "message", "body"), REFUSED)
def test_refused_at_its_place(rule, message, body):
    found = errors(body)
    assert [(finding.rule, finding.line, finding.column) for finding in found] == [(rule, *marked(body))]
    assert message in found[0].message
    assert HERE not in found[0].excerpt


def test_all_errors_are_reported_together():
    found = errors("""
steps:
  - {step: a, do: A, needs: {lead: connected}}
  - {step: a, do: B, tools: [wrench]}
  - {step: c, do: C, only if: {nothing: x}}""")
    assert [finding.rule for finding in found] == [
        "unknown-need",
        "double-name",
        "unknown-tool",
        "unknown-guard",
    ]


def test_the_nearest_word_is_named():
    found = errors(LEAD + "steps: [{step: a, disconnects: [leed]}]")
    assert found[0].near == "lead"


def test_an_error_at_two_places_is_said_once():
    found = errors(SIDES + BOLT + "steps: [{each: side, steps: [{step: a, connects: [bolt]}]}]")
    assert len(found) == 1
