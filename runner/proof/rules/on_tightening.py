"""Pages on torques and angles that make no sense for their fastener."""

from collections.abc import Mapping

from runner.proof.rules.page import Page

_STEPS = """\
steps:
  - step: pump-tight
    do: Tighten the pump bolts.
    tools: [torque wrench]
    tightens: [pump bolts]
"""


def _bolts(of_the_joint: str, stages: str, covers: str = "5 to 130 N·m") -> str:
    return (
        f"tools: [{{name: torque wrench, covers: {covers}}}]\n"
        "items:\n"
        "  pump bolts:\n"
        "    kind: fastener\n"
        "    at start: started\n"
        f"{of_the_joint}"
        f"    tighten: {stages}\n"
        f"{_STEPS}"
    )


_M8 = "    thread: M8x1.25\n    class: 8.8\n"
_M10 = "    thread: M10x1.5\n    class: 10.9\n"
_TURN = "[{torque: 50 N·m ±4 %}, {angle: 90°, method: by mark}]"

PAGES: Mapping[str, Page] = {
    "past-proof-load": Page(
        why="Past its proof load a bolt has stretched for good, or it breaks under the wrench. Mostly a number "
        "stands there in the wrong unit, or with a zero too many. Friction decides how much of a torque becomes "
        "preload: as `friction` states it, else 0.10 to 0.16 is assumed, and the finding says so. Past the proof "
        "load even at the highest friction is an error, in the middle a warning, only at the lowest advice. Every "
        "round is judged; where `thread` or `class` is missing or unknown, nothing is said.",
        wrong=_bolts(_M8, "[{torque: 60 N·m ±4 %}]"),
        right=_bolts(_M8, "[{torque: 20 N·m ±4 %}]"),
    ),
    "hardly-tight": Page(
        why="A bolt that is hardly tightened works loose, and nobody sees it. Under a fifth of the proof load even "
        "at the lowest friction, a torque is mostly a slip: inch pounds for foot pounds, or a zero too few. Where "
        "friction is not stated, 0.10 to 0.16 is assumed. Only the last torque is judged; rounds before it are "
        "meant to be low. A fastener that is meant to be loose gets a `snug` stage.",
        wrong=_bolts(_M8, "[{torque: 20 lbf·in ±4 %}]", "1 to 30 N·m"),
        right=_bolts(_M8, "[{torque: 20 N·m ±4 %}]", "1 to 30 N·m"),
    ),
    "dry-torque": Page(
        why="A lubricated thread pulls harder at the same torque. There is no factor for it that holds everywhere: "
        "published ones take from 10 to 50 % off a dry torque. So the program corrects nothing. It warns of a torque "
        "for dry threads on a lubricated one, and advises where it is not said which surface a torque is for, or "
        "where the two differ otherwise. Take the maker's value for the surface, or state `friction`.",
        wrong=_bolts("    surface: anti-seize\n    given for: dry\n", "[{torque: 20 N·m ±4 %}]"),
        right=_bolts("    surface: anti-seize\n    given for: anti-seize\n", "[{torque: 14 N·m ±4 %}]"),
    ),
    "angle-past-yield": Page(
        why="An angle stretches a bolt whatever the friction, and on a short grip soon past its proof load. Then it "
        "has stretched for good, and used again it may break. It is reckoned elastically from `thread`, `class` and "
        "`grip`, with clamped parts from as stiff as the bolt to rigid: past the proof load even with the softer "
        "ones is a warning, only with the stiffer ones advice. Without a grip nothing is said.",
        wrong=_bolts(f"{_M10}    grip: 40 mm\n", _TURN),
        right="parts: [{name: pump bolt, quantity: 1}]\n"
        + _bolts(f"{_M10}    grip: 40 mm\n    new: every time\n    part: pump bolt\n", _TURN),
    ),
}
"""By the rule's name."""
