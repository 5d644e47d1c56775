"""The surface that a torque is given for against the one that is tightened (P29)."""

from runner.proof.local.fasteners import Fastener
from runner.proof.local.found import Found

_LUBRICATED = ("oiled", "anti-seize")
_THREADS = {"dry": "a dry thread", "oiled": "an oiled thread"}


def surface_as_given(fastener: Fastener, found: Found) -> None:
    """A torque for another surface than the one that is tightened, or for nobody knows which.

    No factor mends it, so none is offered: sources take from 10 to 50 % off a dry torque for the same lubricant. Who
    states the friction of the joint has said what the proof needs of a torque with no surface beside it.
    """
    item = fastener.item
    surface, given = item.surface, item.given_for
    if surface is None or surface == given or not (torques := fastener.given("torque")):
        return
    number, _, asked = torques[-1]
    node, gets = fastener.steps[number], f'"{item.name}" gets {asked.text()}'
    if given is None:
        if surface in _LUBRICATED and item.friction is None:
            message = f"{gets} on {_thread(surface)}, and nothing says which surface that is for"
            mend = "write `given for` with the surface in the maker's information, or state `friction`"
            found.add(node, "dry-torque", message, mend, "advice")
        return
    wet = given == "dry" and surface in _LUBRICATED
    dried = surface == "dry" and given in _LUBRICATED
    then = "pulls harder there" if wet else "pulls less there" if dried else "pulls otherwise there"
    message = (
        f"{gets} on {_thread(surface)}, and that is given for {_thread(given)}: it {then}, and no one factor says "
        "by how much"
    )
    mend = (
        f"take the maker's torque for {_thread(surface)}; where there is none, state `friction` as it is "
        f"assembled and work the torque out from the preload; then write `given for: {surface}`"
    )
    found.add(node, "dry-torque", message, mend, "warning" if wet else "advice")


def _thread(surface: str) -> str:
    return _THREADS.get(surface, f"a thread with {surface}")
