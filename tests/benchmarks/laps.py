"""A log of any length: one run of an invented procedure, whose stations are gone round hundreds of times.

Every kind of lap is played through the real engine by a seeded hand, with readings, bolts in two rounds, work put off,
a hold point, corrections, remarks, refusals, pauses, handovers and open points. What is played is then told again,
entry by entry, at later times: the fold decides nothing, so the job goes on as if each lap had been played. The first
laps of every way back, the last lap of every station and the end are played by the engine, on what the fold made.
Lines are made by the writer's own functions, without waiting for the disk.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple

from runner.job import actions as a
from runner.job.asking import demand
from runner.job.decide import decide
from runner.job.demand import Demand
from runner.job.events import Entry, Sealed
from runner.job.evolve import evolve
from runner.job.record import to_record
from runner.job.state import Job, new_job
from runner.log import line, record
from runner.procedure.link import load_procedure
from runner.proof.prove import prove
from runner.run import header_of
from runner.stamp import Stamp
from tests.doubles import SetOutside
from tests.job.properties.dice import Dice
from tests.job.properties.lawful import Lawful

ROUNDS = 100
"""The most that the format allows for one way back."""
LOOKS = 5
"""Ways back at the end of a station: so a long run needs no long procedure."""
PLAYED = 2
"""Laps of a station that the engine plays before they are told again."""
ODD_PERCENT = 6
OPEN_POINT_PERCENT = 20
"""Of those that would be one: each stays open to the end of the report."""
MOST_TURNS = 400
"""Within so many actions a lap is over, or the hand is lost."""

_HEAD = """format: 1
procedure: laps
title: Many stations, gone round many times
revision: 1
fits: nothing (invented for a measurement)
sources: [Invented data.]
people: {performer: 1, checker: 1}
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [at ride height, on wheels], at ride height: [on wheels, raised]}
    hazardous: [raised]
tolerance: {torque: ±4 %, angle: ±5°}
tools: [{name: torque wrench, covers: 5 to 200 N·m}, {name: gap gauge, covers: 0 to 10 mm}]
parts: none
supplies: none
close out: [Nothing left over]
items:
"""


def written(stations: int) -> str:
    """The text of the procedure."""
    items = "".join(
        f"  bolts {n}: {{kind: fastener, count: 4, tighten: [{{torque: {40 + n} N·m, order: star}}, "
        f"{{torque: {80 + n} N·m, order: star}}, {{angle: 90°, only when: {{support: at ride height}}}}]}}\n"
        f"  cover {n}: {{kind: cover}}\n"
        for n in range(stations)
    )
    return f"{_HEAD}{items}steps:\n" + "\n".join(_station(n) for n in range(stations)) + "\n"


def _station(n: int) -> str:
    looks = "\n".join(
        f"""\
  - step: look-{n}-{look}
    do: Push it at place {look}.
    look for: How does it move?
    answers: {{freely: go on, not freely: {{again: up-{n}, at most: {ROUNDS}, then: stop}}}}"""
        for look in range(LOOKS)
    )
    return f"""\
  - step: up-{n}
    do: Raise it.
    danger: {{hazard: It can fall, consequence: crushing, avoid: Stay clear.}}
    sets: {{support: raised}}
  - step: off-{n}
    do: Take the cover off.
    takes off: [cover {n}]
  - step: out-{n}
    do: Loosen the bolts.
    needs: {{support: raised}}
    loosens: [bolts {n}]
  - step: gaps-{n}
    do: Measure both gaps.
    tools: [gap gauge]
    read:
      - {{what: Gap one, name: one-{n}, unit: mm, band: 1.4 to 2.2 mm}}
      - {{what: Gap two, name: two-{n}, unit: mm, at most: 3 mm, times: 3}}
      - {{what: Number on the bag, name: bag-{n}, text: batch number}}
  - step: shim-{n}
    do: Choose the shim.
    work out: {{what: Shim, name: shim-{n}, is: one-{n} - 1 mm, unit: mm, at most: 2 mm}}
  - step: in-{n}
    do: Start the bolts by hand.
    starts: [bolts {n}]
  - step: snug-{n}
    do: Tighten the bolts in two rounds.
    tools: [torque wrench]
    tightens: {{bolts {n}: stages 1 to 2}}
    hold point: {{released by: checker, asks: Does it sit flat?}}
  - step: turn-{n}
    do: Turn the bolts.
    tightens: {{bolts {n}: the rest}}
    put off: {{until: {{support: at ride height}}, before: {{support: on wheels}}, because: rubber sits at rest}}
  - step: glue-{n}
    do: Put the glue on.
  - step: on-{n}
    do: Put the cover on.
    wait: 10 min
    puts back: [cover {n}]
  - step: height-{n}
    do: Lower it to ride height.
    sets: {{support: at ride height}}
  - step: down-{n}
    do: Lower it.
    sets: {{support: on wheels}}
{looks}"""


class Hand(Lawful):
    """Goes round as often as told, takes up what waits, and now and then does something that was not asked."""

    def __init__(self, dice: Dice) -> None:
        super().__init__(dice)
        self.again_from: int | None = 0
        """The look that sends the work back; none where the station is to be left."""

    def _look(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        sends_back = job.at.endswith(f"-{self.again_from}")
        return a.Look(**at, label=wanted.options[1 if sends_back else 0].key)

    def _hold(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Release(**at | {"who": "Bo"}, released=True, said="as it should be")

    def _cue(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.TakeUp(**at, key=wanted.options[0].key)

    def _due(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.TakeUp(**at, key=wanted.options[0].key)

    def _prepare(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = wanted.options[0].key
        if key.startswith("tool:"):
            return a.CountIn(**at, tool=key[5:], identity="W-7")
        return a.MeetPrerequisite(**at, key=key, value="on wheels" if key.startswith("condition:") else "Bo")

    def _tighten(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        band = job.procedure.item_by_key[wanted.subject].stages[wanted.stage - 1].band
        method = wanted.methods[0]
        raw = self.value(band) if method == "measured" else ""
        return a.Tighten(
            **at, item=wanted.subject, stage=wanted.stage, member=wanted.member, method=method, raw=raw
        )

    def _reconfirm(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Reconfirm(**at, key=wanted.options[0].key, as_recorded=True)

    def _close_out(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = wanted.options[0].key
        return (
            a.CountOut(**at, tool=key[5:])
            if key.startswith("tool:")
            else a.CloseOut(**at, line=int(key[5:]), text="none")
        )

    def besides(self, job: Job, wanted: Demand, stamp: Stamp) -> a.Action | None:
        """A remark, a correction, a refused word, a pause, a handover, or an open point."""
        at = {"who": job.performer, "stamp": stamp}
        if wanted.kind == "look" and job.performer != "Ann":  # whoever begins a lap ends it
            return a.HandOver(**at, to="Ann")
        if job.phase != "working" or wanted.kind == "handover" or not self.dice.chance(ODD_PERCENT):
            return None
        kind = self.dice.pick(("note", "correct", "wrong", "wrong", "pause", "hand over", "open point"))
        if kind == "open point" and not self.dice.chance(OPEN_POINT_PERCENT):
            return None
        if kind == "pause":
            return a.Pause(**at, note="about to go on")
        if kind == "hand over":
            return a.HandOver(**at, to="Fay" if job.performer == "Ann" else "Ann")
        gaps = [key for key in job.recorded if key.startswith("read ") and "one-" in key]
        if kind == "correct" and gaps:
            return a.Correct(**at, key=gaps[-1], raw="1.5 mm", reason="misread")
        if wanted.kind == "reading" and kind == "wrong":
            return a.Read(**at, name=wanted.subject, raw="")
        if wanted.kind == "reading" and kind == "open point":
            return self.deviation(wanted, at, "not done")
        return a.Note(**at, text="a remark, with a letter beyond ASCII: Räder") if kind == "note" else None


class Built(NamedTuple):
    """What was made: entries behind the header, and the things that came true in them."""

    entries: int
    changes: int


class Laps:
    """One run on its way: played by the engine, and told again."""

    def __init__(self, stations: int, seed: int, folder: Path) -> None:
        path = folder / "laps.yaml"
        path.write_text(written(stations), encoding="utf-8")
        procedure, found = load_procedure(path)
        assert procedure is not None, "\n".join(finding.text() for finding in found)
        gates = prove(procedure).gates
        assert gates.proved, "the procedure is proved"
        self.dice, self.outside = Dice(seed), SetOutside(step_ms=700)
        self.hand = Hand(self.dice)
        self.header = header_of(procedure, gates, rehearsal=False, bench="", unproved="")
        self.job = new_job(procedure, gates)

    def played(self, until: str) -> Iterator[Entry]:
        """What the engine gives until the main line stands at the step `until` anew, or the run is sealed."""
        came = self.job.came
        for _ in range(MOST_TURNS):
            if self.job.phase == "sealed" or (self.job.at == until and self.job.came != came):
                return
            yield from self._acted(a.LetTimePass(who="clock", stamp=self.outside.now()))
            stamp = self.outside.now()
            wanted = demand(self.job, stamp)
            if wanted.kind == "wait":
                self.outside.pass_time(wanted.until_ms + 50)
                continue
            action = self.hand.besides(self.job, wanted, stamp)
            yield from self._acted(action or self.hand.action(self.job, wanted, stamp))

        raise AssertionError(f"{until} was never come to: {demand(self.job)}")

    def told_again(self, lap: list[Entry]) -> Iterator[Entry]:
        """The entries of a lap once more, later by as much as the clock has gone on."""
        first = lap[0].stamp
        wall_ms, mono_ms = (
            self.outside.wall_ms + 700 - first.wall_ms,
            self.outside.mono_ms + 700 - first.mono_ms,
        )
        for entry in lap:
            old = entry.stamp
            stamp = Stamp(old.wall_ms + wall_ms, old.offset_min, old.mono_ms + mono_ms, old.boot)
            yield self._taken(entry.but(stamp=stamp))
        self.outside.wall_ms, self.outside.mono_ms = stamp.wall_ms, stamp.mono_ms

    def _acted(self, action: a.Action) -> Iterator[Entry]:
        entry = decide(self.job, action).entry
        if entry is not None:
            yield self._taken(entry)

    def _taken(self, entry: Entry) -> Entry:
        self.job = evolve(self.job, entry)
        return entry


def entries(laps: Laps, stations: int, rounds: int) -> Iterator[Entry]:
    """The whole run."""
    yield from laps.played("up-0")
    for n in range(stations):
        for look in range(LOOKS):
            laps.hand.again_from = look
            known: list[list[Entry]] = []
            for lap in range(rounds):
                if lap < PLAYED:
                    known.append([])
                    for entry in laps.played(f"up-{n}"):
                        known[-1].append(entry)
                        yield entry
                else:
                    yield from laps.told_again(laps.dice.pick(known))
        laps.hand.again_from = None
        yield from laps.played(f"up-{n + 1}")


def build(path: Path, stations: int, rounds: int, seed: int, most: int = 0) -> Built:
    """Write the log of one run to its seal, or to its first `most` entries. Prints nothing; the seed decides all."""
    laps = Laps(stations, seed, path.parent)
    stamp = laps.outside.now()
    own = {"boot": stamp.boot, "log": line.VERSION, "offset_min": stamp.offset_min, "pid": 1}
    header = {**laps.header, **own, "run": "0" * 32, "sync": "fdatasync"}
    count = changes = 0
    with path.open("wb") as file:
        head = _wrote(file, line.root(), 0, record.RUN, header, stamp)
        for entry in entries(laps, stations, rounds):
            kind, data = to_record(entry)
            count += 1
            changes += len(entry.events)
            if isinstance(entry.events[0], Sealed):
                kind, data = record.SEAL, {**data, "count": count, "head": head.hex()}
            head = _wrote(file, head, count, kind, data, entry.stamp)
            if count == most:
                break
    return Built(count, changes)


def _wrote(file: BinaryIO, head: bytes, n: int, kind: str, data: dict[str, Any], stamp: Stamp) -> bytes:
    body = line.body(n, kind, line.encode(data), stamp.iso(), stamp.mono_ms)
    whole, head = line.link(head, body)
    file.write(whole)
    return head
