"""A path that the proof reports, walked in the engine: does the fault it names show at its end?

The path tells what is chosen at its stations; between them there is nothing to choose. Where a put-off step is taken
up is told in words only, so every place is tried at which it can be.
"""

from collections import deque
from collections.abc import Iterator

from runner.procedure.finding import Finding, Station
from runner.procedure.linked import END, Procedure
from tests.proof.brute.bench import STOPPED
from tests.proof.brute.found import Fault, Place
from tests.proof.brute.search import Guide, Search

MOST_PLACES = 20_000
ANYTHING = Guide(only=frozenset({"*"}))
"""At the last station, where the fault shows, whatever is chosen."""


def shows(procedure: Procedure, finding: Finding) -> bool:
    """Whether the engine, led along the path of a finding, breaks what it names at its end."""
    return _Replay(procedure, finding).run()


class _Replay:
    def __init__(self, procedure: Procedure, finding: Finding) -> None:
        self.search = Search(procedure, None)
        self.fault = Fault(finding.rule, finding.node, finding.subject)
        moves = [station.move for station in finding.path]
        self.starts = [move.removeprefix("start ") for move in moves if move.startswith("start ")]
        self.named = {s.node for s in finding.path if not s.move.startswith("start ")}
        self.stations = [s for s in finding.path if not s.move.startswith(("start ", "listed"))]

    def run(self) -> bool:
        """Follow the path from every start that it allows."""
        waiting: deque[tuple[Place, int]] = deque()
        faults = self.search.bench.faults
        for place, word in self.search.starts():
            if all(start in word.removeprefix("start ").split(", start ") for start in self.starts):
                waiting.append((place, 0))
                if self.fault in faults and len(self.stations) <= 1:
                    return True
        seen = set()
        while waiting:
            place, number = waiting.popleft()
            key = (self.search.keys.of(place), place.job.phase, number)
            if key in seen:
                continue
            seen.add(key)
            assert len(seen) < MOST_PLACES
            if place.job.phase == "closing":
                faults.clear()
                self.search.at_end(place)
                if self.fault in faults and number >= len(self.stations) - 1:
                    return True
                continue
            for guide, then in self._guides(place, number):
                faults.clear()
                for there, to, _ in self.search.steps(place, guide):
                    if to != STOPPED:
                        waiting.append((there, then))
                if self.fault in faults and then >= len(self.stations) - 1:
                    return True
        return False

    def _guides(self, place: Place, number: int) -> Iterator[tuple[Guide, int]]:
        """What the path lets a run do here, and the number of the station after it.

        Put-off steps that the path does not name have nothing to do with it; they are done some time or other.
        """
        for key, owed in place.job.owed.items():
            if owed.node not in self.named:
                yield Guide(take=key), number
        if number >= len(self.stations):
            yield Guide(), number
            return
        here, station = place.job.at, self.stations[number]
        if station.move.startswith("take up "):
            yield Guide(take=station.move.removeprefix("take up ")), number + 1
        elif station.node == here or (here == END and station.node == "end"):
            yield (_chosen(station) if station.move else ANYTHING), number + 1
        yield Guide(), number


def _chosen(station: Station) -> Guide:
    moves = station.move.split("; ")
    return Guide(only=frozenset(move for move in moves if move not in ("go on", "end")))
