"""Pages on what is read and worked out, on second persons, and on what the proof cannot decide."""

from collections.abc import Mapping

from runner.proof.rules.page import Page

PAGES: Mapping[str, Page] = {
    "not-yet-entered": Page(
        why="A worked-out value needs every reading it names. On a way that passed by one of them there is "
        "nothing to work with, and the step cannot be done.",
        wrong="""\
steps:
  - step: engine
    ask: How does the engine feel?
    answers:
      cold:
        - step: measure
          do: Measure the gap.
          read: {what: Gap, name: gap, unit: mm, band: none}
      warm: go on
  - step: shim
    do: Choose the shim.
    work out: {what: Shim, name: shim, is: gap / 2, unit: mm, at most: 0.5 mm}
""",
        right="""\
steps:
  - step: engine
    ask: How does the engine feel?
    answers:
      cold: go on
      warm:
        - step: cool
          do: Let it cool down.
  - step: measure
    do: Measure the gap.
    read: {what: Gap, name: gap, unit: mm, band: none}
  - step: shim
    do: Choose the shim.
    work out: {what: Shim, name: shim, is: gap / 2, unit: mm, at most: 0.5 mm}
""",
    ),
    "band-never": Page(
        why="Bands are tried in their order and the first that takes the value wins. A band for which the "
        "ones before it leave nothing is never met, and its way is never taken. A value that no band "
        "takes has no way at all.",
        wrong="""\
steps:
  - step: threads
    do: Count the pulled threads.
    read:
      what: Pulled threads
      name: threads
      unit: count
      sorted:
        at most 2: go on
        below 3: go on
        above: stop
""",
        right="""\
steps:
  - step: threads
    do: Count the pulled threads.
    read:
      what: Pulled threads
      name: threads
      unit: count
      sorted:
        at most 1: go on
        below 3: go on
        above: stop
""",
    ),
    "second-person": Page(
        why="A second reading is blind because somebody else takes it; with one person in the shop it "
        "cannot be given at all, and the step ends in a deviation.",
        wrong="""\
people: {performer: 1}
steps:
  - step: bore
    do: Measure the bore.
    read: {what: Bore, name: bore, unit: mm, at most: 18.05 mm, second reading: blind}
""",
        right="""\
people: {performer: 1, checker: 1}
steps:
  - step: bore
    do: Measure the bore.
    read: {what: Bore, name: bore, unit: mm, at most: 18.05 mm, second reading: blind}
""",
    ),
    "not-proved": Page(
        why="The proof never guesses: where the exact answer would take more than its budget, it says so, "
        "and that counts as an error, for nobody may take an open question for a proof. It happens "
        "where very many answers are remembered at once, each asked for again much later. No short "
        "procedure shows it.",
        wrong="",
        right="",
    ),
}
"""By the rule's name."""
