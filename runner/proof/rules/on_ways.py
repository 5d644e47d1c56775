"""Pages on where the work leads: steps, ways, conditions, used files."""

from collections.abc import Mapping

from runner.proof.rules.page import Page

PAGES: Mapping[str, Page] = {
    "never-reached": Page(
        why="A step that nobody ever comes to is work that its author believes is done. Mostly an answer "
        "was written that stops where it should go on, or an `only if` asks for something that never "
        "holds there.",
        wrong="""\
steps:
  - step: boot
    ask: How does the rubber boot look?
    answers: {whole: go on, torn: stop}
  - step: replace
    do: Put a new boot on.
    only if: {boot: torn}
""",
        right="""\
steps:
  - step: boot
    ask: How does the rubber boot look?
    answers: {whole: go on, torn: go on}
  - step: replace
    do: Put a new boot on.
    only if: {boot: torn}
""",
    ),
    "no-way-out": Page(
        why="Whoever comes there stands before an open job with no lawful way on: nothing can be answered "
        "that ends it, and the run can only be abandoned.",
        wrong="""\
steps:
  - step: look
    do: Turn the bearing by hand.
  - step: judge
    ask: What is felt?
    answers: {a rough spot: stop, a rattle: stop}
""",
        right="""\
steps:
  - step: look
    do: Turn the bearing by hand.
  - step: judge
    ask: What is felt?
    answers: {a rough spot: stop, nothing at all: go on}
""",
    ),
    "wrong-condition": Page(
        why="`needs` states what must hold and chooses no way, so the gate of such a step stays shut. At "
        "the bench the work stands still there, with no answer that opens it.",
        wrong="""\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
steps:
  - step: push
    do: Push the car a wheel's turn back.
    needs: {support: on wheels}
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right="""\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
steps:
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
  - step: push
    do: Push the car a wheel's turn back.
    needs: {support: on wheels}
""",
    ),
    "forbidden-change": Page(
        why="`changes` says what can happen to the work piece in one go. A step that sets another value "
        "leaves out what lies between, and with it, as a rule, the step that makes it safe.",
        wrong="""\
conditions:
  supply:
    at start: live
    changes: {live: [off], off: [earthed, live], earthed: [off]}
steps:
  - step: switch-off
    do: Switch the supply off.
    sets: {supply: off}
  - step: earth
    do: Put the earthing lead on.
    sets: {supply: earthed}
  - step: clean
    do: Clean the contacts.
    needs: {supply: earthed}
  - step: live
    do: Switch the supply on.
    sets: {supply: live}
""",
        right="""\
conditions:
  supply:
    at start: live
    changes: {live: [off], off: [earthed, live], earthed: [off]}
steps:
  - step: switch-off
    do: Switch the supply off.
    sets: {supply: off}
  - step: earth
    do: Put the earthing lead on.
    sets: {supply: earthed}
  - step: clean
    do: Clean the contacts.
    needs: {supply: earthed}
  - step: earth-off
    do: Take the earthing lead off.
    sets: {supply: off}
  - step: live
    do: Switch the supply on.
    sets: {supply: live}
""",
    ),
    "agreement-broken": Page(
        why="A used file was checked alone, against what it says it takes over. Entered in any other state,"
        " its steps act on parts that are not as they expect; left otherwise than it says, the caller "
        "goes on in error.",
        wrong="""\
items: {cap: {kind: cover}}
steps:
  - use: parts/wipe.yaml
  - step: cap-off
    do: Take the cap off.
    takes off: [cap]
  - step: cap-on
    do: Put the cap back.
    puts back: [cap]
""",
        right="""\
items: {cap: {kind: cover}}
steps:
  - step: cap-off
    do: Take the cap off.
    takes off: [cap]
  - use: parts/wipe.yaml
  - step: cap-on
    do: Put the cap back.
    puts back: [cap]
""",
        files=(
            (
                "parts/wipe.yaml",
                """\
items: {cap: {kind: cover}}
takes over: {cap: 'off'}
leaves open: {cap: 'off'}
steps:
  - step: wipe
    do: Wipe the seat of the cap.
""",
            ),
        ),
    ),
    "hazard-unannounced": Page(
        why="From the moment a condition takes a value marked `hazardous`, people work within reach of it. "
        "The first step that finds it so must tell them, and have it acknowledged.",
        wrong="""\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
steps:
  - step: raise
    do: Raise the car.
    sets: {support: raised}
  - step: look
    do: Look at the sump from below.
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right="""\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    hazardous: [raised]
steps:
  - step: raise
    do: Raise the car.
    danger: {hazard: The car can fall, consequence: crushing, avoid: Use stands.}
    sets: {support: raised}
  - step: look
    do: Look at the sump from below.
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
    ),
    "one-answer": Page(
        why="A question with one answer is a button, and people press it without looking. What else could "
        "be seen belongs beside it, with its own way.",
        wrong="""\
steps:
  - step: seal
    do: Look at the seal.
    look for: How is it?
    answers: {soft and whole: go on}
""",
        right="""\
steps:
  - step: seal
    do: Look at the seal.
    look for: How is it?
    answers: {cracked: stop, soft and whole: go on}
""",
    ),
    "way-back-broken": Page(
        why='When somebody reports "the car was down this morning", the main line waits until the way under'
        " `getting there` has restored the recorded value. A way that cannot be walked from what was "
        "found leaves only abandoning the run.",
        wrong="""\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    getting there: {raised: lift}
steps:
  - step: raise
    do: Raise the car.
    needs: {support: on wheels}
    sets: {support: raised}
  - step: lift
    do: Lift it to working height.
    needs: {support: raised}
    sets: {support: raised}
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right="""\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [on wheels]}
    getting there: {raised: raise}
steps:
  - step: raise
    do: Raise the car.
    needs: {support: on wheels}
    sets: {support: raised}
  - step: lift
    do: Lift it to working height.
    needs: {support: raised}
    sets: {support: raised}
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
    ),
}
"""By the rule's name."""
