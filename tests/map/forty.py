"""A procedure of forty steps, all of it invented: a press with two cylinders, put-off work, ways and a hold point."""

HEAD = """\
format: 1
procedure: press-seals
title: New seals in both cylinders of a press
revision: 2
fits: Invented press P40
sources: [Invented for a test.]
people: {performer: 1, checker: 1}
conditions:
  pressure: {at start: up, changes: {up: [let off], let off: [up]}, hazardous: [up]}
  power: {at start: on, changes: {on: [off], off: [on]}, hazardous: [on]}
locations: {side: [left, right]}
tolerance: {torque: ±4 %, angle: ±5°}
tools: [{name: torque wrench, covers: 20 to 200 N·m}]
parts: none
supplies: none
close out: [No tool is left in the press]
items:
  main lock: {kind: lock}
  drain: {kind: valve}
  guard: {kind: cover}
  oil: {kind: fluid}
  hose: {kind: connection, each: side}
  prop: {kind: aid, each: side}
  rod: {kind: fitted part, each: side}
  gland bolts:
    kind: fastener
    each: side
    count: 8
    tighten:
      - {torque: 40 N·m, order: star}
      - {torque: 90 N·m, order: star, only when: {pressure: up}}
steps:
  - step: power-off
    do: Switch the press off at the main switch and hang your lock in it.
    puts on: [main lock]
    sets: {power: off}
  - step: try-start
    do: Press the start button to prove that the press is dead.
    look for: What does the press do?
    answers: {nothing at all: go on, anything moves: stop}
  - step: drain-open
    do: Open the drain slowly until the gauge falls to nothing.
    danger: {hazard: Oil under pressure, consequence: it cuts the skin, avoid: Hands away from every joint.}
    opens: [drain]
    sets: {pressure: let off}
  - step: drain-shut
    do: Shut the drain when nothing runs any more.
    shuts: [drain]
    put off: {until: {step: oil-out}, before: oil-in, because: the rest of the oil must run out}
  - step: guard-off
    do: Take the front guard off and stand it against the wall.
    takes off: [guard]
  - step: guard-on
    do: Put the front guard back and try whether its switch closes.
    puts back: [guard]
    omission: likely
    put off: {until: {pressure: up}, before: end, because: leaks are looked for with the guard off}
  - step: oil-out
    do: Pump the oil into a clean drum.
    drains: [oil]
"""

SIDE = """\
  - each: side
    steps:
      - step: prop-in
        do: Set the prop under the ram so that it cannot sink.
        caution: {hazard: The ram sinks, consequence: crushed hands, avoid: Never reach under it without the prop.}
        puts in: [prop]
      - {step: hose-off, do: Take the hose off and close both ends with caps., disconnects: [hose]}
      - {step: bolts-out, do: "Loosen the gland bolts crosswise, then take them out.", takes out: [gland bolts]}
      - {step: rod-out, do: Draw the rod out with the gland and lay it on wood., takes out: [rod]}
      - step: bore
        do: Wipe the bore and feel along it with a fingernail for scores.
        look for: How is the bore?
        answers:
          smooth all over: go on
          "a score can be felt, shallow":
            - {step: hone, do: Hone the score out with the fine stone and wash the bore.}
            - {again: bore, at most: 2, then: stop}
          a score can be felt and is deep: stop
      - {step: seal-out, do: Lever the old seal out with the plastic hook.}
      - step: seal-in
        do: "Warm the new seal in oil, fold it and let it snap into its groove, its lip toward the pressure."
        expect: It lies flat all round after five minutes.
      - {step: rod-in, do: Push the rod in straight until the gland sits., fits: [rod]}
      - step: bolts-in
        do: Start the gland bolts by hand and give them the first round.
        tools: [torque wrench]
        starts: [gland bolts]
        tightens: {gland bolts: stage 1}
      - step: bolts-tight
        do: "Give the gland bolts their last round, under pressure."
        tools: [torque wrench]
        tightens: {gland bolts: the rest}
        put off: {until: {pressure: up}, before: run-in, because: the gland seats itself under pressure only}
      - {step: hose-on, do: Put the hose on and turn it by hand until it stops., connects: [hose]}
      - {step: prop-out, do: Take the prop out., takes out: [prop]}
"""

TAIL = """\
  - {step: oil-in, do: Fill the oil through the filter up to the middle of the glass., fills: [oil]}
  - step: look-over
    do: "Have hoses, glands and props looked over before the press comes alive."
    needs: {hose: connected, prop: out}
    hold point:
      released by: checker
      asks: Are both hoses on and both props out?
      if refused:
        - {step: put-right, do: Put right what the checker names.}
        - {again: look-over, at most: 3, then: stop}
  - {step: lock-off, do: Take your lock off the main switch., takes off: [main lock]}
  - step: power-on
    do: Switch the press on.
    sets: {power: on}
  - step: pressure-up
    do: Let the pump build up the pressure and watch the glands.
    danger: {hazard: Oil under pressure, consequence: it cuts the skin, avoid: Stand beside the press.}
    sets: {pressure: up}
  - step: run-in
    do: Run the rams out and in ten times without load.
    look for: How are the glands?
    answers: {dry: go on, wet: stop}
"""

FORTY = HEAD + SIDE + TAIL
