"""What a brute force comes back with."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from runner.job.state import Job


class Fault(NamedTuple):
    """One rule broken at one step: `node` is its id (`end`, or nothing, where the rule is about the whole run)."""

    rule: str
    node: str
    subject: str = ""


class Place(NamedTuple):
    """A run at one moment: the engine's job, and what the engine need not remember.

    `opened` are the listed put-offs whose window has been open since they were listed; `used` how many single-use
    parts of each name were confirmed; `warned` whether a step so far had an injury notice; `depth` counts stations.
    """

    job: Job
    opened: frozenset[str]
    used: tuple[int, ...]
    warned: bool
    depth: int


@dataclass(frozen=True)
class Broken:
    """Everything that some run breaks, with the number of stations of the shortest run that shows it.

    `missed` are put-off nodes that a run can come too late for by its own postponing (what last chances are for);
    `left` where the engine stopped as outside its proof (with gates only); `stands` the item states seen on arrival
    at each node.
    """

    faults: Mapping[Fault, int]
    paths: Mapping[Fault, tuple[str, ...]]
    missed: frozenset[str]
    left: frozenset[tuple[str, str, str]]
    stands: Mapping[str, Mapping[str, frozenset[str]]]
    states: int


@dataclass(frozen=True)
class Unfinished:
    """The budget ran out: nothing is said about the procedure."""

    states: int
