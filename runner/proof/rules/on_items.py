"""Pages on what is opened and closed, and on the parts and tools that it takes."""

from collections.abc import Mapping

from runner.proof.rules.page import Page

PAGES: Mapping[str, Page] = {
    "not-as-needed": Page(
        why="`needs` of an item states how far it must be. On a way where it is not, the gate stays shut "
        "and no answer opens it.",
        wrong="""\
items: {guard: {kind: cover}}
steps:
  - step: guard-off
    do: Take the guard off.
    takes off: [guard]
  - step: spin
    do: Spin the shaft by hand.
    needs: {guard: final}
  - step: guard-on
    do: Put the guard back.
    puts back: [guard]
""",
        right="""\
items: {guard: {kind: cover}}
steps:
  - step: guard-off
    do: Take the guard off.
    takes off: [guard]
  - step: guard-on
    do: Put the guard back.
    puts back: [guard]
  - step: spin
    do: Spin the shaft by hand.
    needs: {guard: final}
""",
    ),
    "wrong-state": Page(
        why="A lead that was never unplugged cannot be plugged in, and a bolt that was not started cannot "
        "be tightened. Whoever is asked for it ticks it without doing it, or stops and looks for what "
        "was forgotten.",
        wrong="""\
items: {sensor lead: {kind: connection}}
steps:
  - step: room
    ask: Where does the sensor lead run?
    answers:
      across the bolts:
        - step: lead-off
          do: Unplug the sensor lead.
          disconnects: [sensor lead]
      clear of them: go on
  - step: lead-on
    do: Plug the sensor lead in.
    connects: [sensor lead]
""",
        right="""\
items: {sensor lead: {kind: connection}}
steps:
  - step: room
    ask: Where does the sensor lead run?
    answers:
      across the bolts:
        - step: lead-off
          do: Unplug the sensor lead.
          disconnects: [sensor lead]
      clear of them: go on
  - step: lead-on
    do: Plug the sensor lead in.
    connects: [sensor lead]
    only if: {room: across the bolts}
""",
    ),
    "wrong-moment": Page(
        why="`only when` keeps a stage for the one condition in which its value means anything: rubber must"
        " sit at rest, a wheel must not turn. Elsewhere the gate refuses it, so the work would stand "
        "still there.",
        wrong="""\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items:
  arm bolt:
    kind: fastener
    tighten: [{torque: 90 N·m ±4 %, only when: {support: on wheels}}]
steps:
  - step: arm-check
    do: Go over the arm bolt once more.
    tools: [torque wrench]
    re-tightens: [arm bolt]
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right="""\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items:
  arm bolt:
    kind: fastener
    tighten: [{torque: 90 N·m ±4 %, only when: {support: on wheels}}]
steps:
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
  - step: arm-check
    do: Go over the arm bolt once more.
    tools: [torque wrench]
    re-tightens: [arm bolt]
""",
    ),
    "left-open": Page(
        why="This is the lead that nobody plugs in again, the wedge that stays in the knuckle, the bolt "
        "that never gets its last stage. It mostly happens on one answer among several, which is the "
        "way shown.",
        wrong="""\
items: {sensor lead: {kind: connection}}
steps:
  - step: lead-off
    do: Unplug the sensor lead.
    disconnects: [sensor lead]
  - step: plug
    do: Look at the plug.
    look for: What is in it?
    answers:
      nothing:
        - step: lead-on
          do: Plug the sensor lead in.
          connects: [sensor lead]
      dirt:
        - step: clean
          do: Clean the plug.
""",
        right="""\
items: {sensor lead: {kind: connection}}
steps:
  - step: lead-off
    do: Unplug the sensor lead.
    disconnects: [sensor lead]
  - step: plug
    do: Look at the plug.
    look for: What is in it?
    answers:
      nothing: go on
      dirt:
        - step: clean
          do: Clean the plug.
  - step: lead-on
    do: Plug the sensor lead in.
    connects: [sensor lead]
""",
    ),
    "too-few-parts": Page(
        why="A single-use part that goes on a second time does not hold. If a way uses up more of them than"
        " were laid out, somebody stands there with the old one in his hand and a car that has to be "
        "ready.",
        wrong="""\
parts: [{name: gasket, number: G-7, quantity: 1}]
items: {gasket: {kind: fitted part, new: every time, part: gasket}}
steps:
  - step: gasket-out
    do: Take the gasket out.
    takes out: [gasket]
  - step: gasket-in
    do: Fit a new gasket.
    fits: [gasket]
  - step: leak
    do: Fill it up.
    look for: How does the joint look?
    answers:
      wet:
        - step: out-again
          do: Drain it and take the gasket out.
          takes out: [gasket]
        - step: in-again
          do: Fit a new gasket.
          fits: [gasket]
      dry: go on
""",
        right="""\
parts: [{name: gasket, number: G-7, quantity: 2}]
items: {gasket: {kind: fitted part, new: every time, part: gasket}}
steps:
  - step: gasket-out
    do: Take the gasket out.
    takes out: [gasket]
  - step: gasket-in
    do: Fit a new gasket.
    fits: [gasket]
  - step: leak
    do: Fill it up.
    look for: How does the joint look?
    answers:
      wet:
        - step: out-again
          do: Drain it and take the gasket out.
          takes out: [gasket]
        - step: in-again
          do: Fit a new gasket.
          fits: [gasket]
      dry: go on
""",
    ),
    "tool-range": Page(
        why="A wrench below or above its range does not release where it says. Whoever notices at the bench"
        " looks for another one in mid-job; whoever does not has a torque that nobody knows.",
        wrong="""\
tolerance: {torque: ±4 %}
tools: [{name: small wrench, covers: 5 to 25 N·m}]
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m}]}}
steps:
  - step: bolt-off
    do: Loosen the bolt and start it by hand.
    loosens: [bolt]
    starts: [bolt]
  - step: bolt-tight
    do: Tighten the bolt.
    tools: [small wrench]
    tightens: [bolt]
""",
        right="""\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m}]}}
steps:
  - step: bolt-off
    do: Loosen the bolt and start it by hand.
    loosens: [bolt]
    starts: [bolt]
  - step: bolt-tight
    do: Tighten the bolt.
    tools: [torque wrench]
    tightens: [bolt]
""",
    ),
    "no-tool": Page(
        why="A value to tighten to, and no wrench to do it with: it is not counted in before step 1 and not"
        " in the log afterwards, so nobody can later say which tool gave the torque.",
        wrong="""\
tolerance: {torque: ±4 %}
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m}]}}
steps:
  - step: bolt-off
    do: Loosen the bolt and start it by hand.
    loosens: [bolt]
    starts: [bolt]
  - step: bolt-tight
    do: Tighten the bolt.
    tightens: [bolt]
""",
        right="""\
tolerance: {torque: ±4 %}
tools: [{name: torque wrench, covers: 20 to 130 N·m}]
items: {bolt: {kind: fastener, tighten: [{torque: 60 N·m}]}}
steps:
  - step: bolt-off
    do: Loosen the bolt and start it by hand.
    loosens: [bolt]
    starts: [bolt]
  - step: bolt-tight
    do: Tighten the bolt.
    tools: [torque wrench]
    tightens: [bolt]
""",
    ),
    "unused": Page(
        why="A name that nothing uses is mostly the trace of a step that was taken out, or never written. "
        "What was meant to happen to it does not happen.",
        wrong="""\
items: {undertray: {kind: cover}}
steps:
  - step: look
    do: Look at the sump from below.
""",
        right="""\
items: {undertray: {kind: cover}}
steps:
  - step: tray-off
    do: Take the undertray off.
    takes off: [undertray]
  - step: look
    do: Look at the sump from below.
  - step: tray-on
    do: Put the undertray back.
    puts back: [undertray]
""",
    ),
    "part-unlisted": Page(
        why="The list of parts is what is laid out before step 1. A single-use part that is not on it is "
        "missed when the old one is already off.",
        wrong="""\
items: {gasket: {kind: fitted part, new: every time}}
steps:
  - step: gasket-out
    do: Take the gasket out.
    takes out: [gasket]
  - step: gasket-in
    do: Fit a new gasket.
    fits: [gasket]
""",
        right="""\
parts: [{name: gasket, number: G-7, quantity: 1}]
items: {gasket: {kind: fitted part, new: every time, part: gasket}}
steps:
  - step: gasket-out
    do: Take the gasket out.
    takes out: [gasket]
  - step: gasket-in
    do: Fit a new gasket.
    fits: [gasket]
""",
    ),
}
"""By the rule's name."""
