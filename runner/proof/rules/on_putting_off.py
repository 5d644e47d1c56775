"""Pages on what must wait, from when and until when."""

from collections.abc import Mapping

from runner.proof.rules.page import Page

_ROAD = """\
conditions:
  support: {at start: raised, changes: {raised: [on wheels], on wheels: [raised]}}
"""

PAGES: Mapping[str, Page] = {
    "missed-window": Page(
        why="Something was put off on this way, and what it waits for never comes before it is due. At the "
        "bench the run stands at the due point with work that cannot be done any more, or is forgotten.",
        wrong=_ROAD
        + """\
steps:
  - step: stripe
    do: Paint a stripe across the bolt head.
    put off: {until: {support: on wheels}, before: end, because: the arm still moves}
  - step: yard
    ask: Where does the car go now?
    answers:
      out of the shop:
        - step: lower
          do: Lower the car.
          sets: {support: on wheels}
      it stays up here: go on
""",
        right=_ROAD
        + """\
steps:
  - step: stripe
    do: Paint a stripe across the bolt head.
    put off: {until: {support: on wheels}, before: end, because: the arm still moves}
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
  - step: yard
    ask: Where does the car go now?
    answers: {out of the shop: go on, it stays here: go on}
""",
    ),
    "change-too-soon": Page(
        why="Once the car is down, what had to be done while it was up cannot be done. Here the change "
        "comes, on one way at least, while the put-off step still waits for something else.",
        wrong=_ROAD
        + """\
steps:
  - step: wax
    do: Put wax over the seam under the sill.
    put off: {until: {step: dry}, before: {support: on wheels}, because: the seam must be dry}
  - step: sill
    ask: How does the sill feel?
    answers:
      wet:
        - step: dry
          do: Wipe it dry.
      dry: go on
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right=_ROAD
        + """\
steps:
  - step: wax
    do: Put wax over the seam under the sill.
    put off: {until: {step: dry}, before: {support: on wheels}, because: the seam must be dry}
  - step: dry
    do: Wipe the sill dry.
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
    ),
    "waits-for-put-off": Page(
        why="A step that may itself be put off is done at a moment that nobody can name beforehand. "
        "Something that is due before it, or waits for it, may then never come, and the proof could not"
        " say whether it does.",
        wrong=_ROAD
        + """\
steps:
  - step: seam
    do: Put wax over the seam.
    put off: {until: {step: dry}, before: stripe, because: the seam must be dry}
  - step: stripe
    do: Paint a stripe across the bolt head.
    put off: {until: {support: on wheels}, before: end, because: the arm still moves}
  - step: dry
    do: Wipe the sill dry.
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
        right=_ROAD
        + """\
steps:
  - step: seam
    do: Put wax over the seam.
    put off: {until: {step: dry}, before: lower, because: the seam must be dry}
  - step: stripe
    do: Paint a stripe across the bolt head.
    put off: {until: {support: on wheels}, before: end, because: the arm still moves}
  - step: dry
    do: Wipe the sill dry.
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
""",
    ),
    "latest-too-early": Page(
        why="The sealant dries in four hours, and two hours after it was put on it is too late: there is no"
        " moment at which the step could be done.",
        wrong="""\
steps:
  - step: seal
    do: Put the sealant on.
  - step: stripe
    do: Paint a stripe over the sealant.
    put off:
      until: {time: 4 h, after: seal}
      before: end
      because: the sealant must dry
      no later than: {time: 2 h, after: seal}
""",
        right="""\
steps:
  - step: seal
    do: Put the sealant on.
  - step: stripe
    do: Paint a stripe over the sealant.
    put off:
      until: {time: 4 h, after: seal}
      before: end
      because: the sealant must dry
      no later than: {time: 24 h, after: seal}
""",
    ),
    "never-put-off": Page(
        why="The window of this step is open whenever it is reached, so it is always done there and then. "
        "That is no harm, but its author meant something else, or it no longer needs a window.",
        wrong=_ROAD
        + """\
steps:
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
  - step: stripe
    do: Paint a stripe across the bolt head.
    put off: {until: {support: on wheels}, before: end, because: the arm still moves}
""",
        right=_ROAD
        + """\
steps:
  - step: lower
    do: Lower the car.
    sets: {support: on wheels}
  - step: stripe
    do: Paint a stripe across the bolt head.
    needs: {support: on wheels}
""",
    ),
}
"""By the rule's name."""
