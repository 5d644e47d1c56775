"""Plays one whole run: what is asked, now and then what is allowed or wrong besides, and every kind of interruption.

After each death the run is taken up from its file alone, and must be the job that was confirmed, or that and the one
entry in whose write it died. Nothing else is compared on the way: what the log says is judged at the end (`ended`).
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from runner.job import actions as a
from runner.job.asking import demand
from runner.job.demand import Demand
from runner.job.events import Entry, Noted
from runner.job.evolve import evolve, interrupted
from runner.job.gates import Gates
from runner.job.record import from_record
from runner.job.state import Job
from runner.log.errors import Latched, NotRecorded, Sealed
from runner.log.scan import scan_file
from runner.log.writer import Recorded
from runner.procedure.linked import Procedure
from runner.replaying import replay
from runner.stamp import Stamp, wall_from_iso
from tests.doubles import SetOutside
from tests.job.properties.dice import Dice
from tests.job.properties.lawful import Lawful
from tests.job.properties.unlawful import unlawful
from tests.soak.mortal import TORN, Killed, MortalFiles
from tests.soak.steady import Steady
from tests.soak.watched import Watched

TURNS = 300
CUT = b"\x18" * 4

FATES = (
    ("killed", 2), ("torn", 2), ("full", 1), ("sync", 1), ("pause", 2), ("hand over", 3), ("correct", 4),
    ("reopen", 4),
)  # fmt: skip
"""What may happen at a turn, and how often in a thousand turns."""

WAITS_ONE_IN = 25
"""One run in so many waits for the medium at every entry."""


class Driver:
    """One run from before its start to its seal; `counts` says what happened to it."""

    def __init__(self, procedure: Procedure, gates: Gates, seed: int, folder: Path, often: int = 1) -> None:
        self.procedure, self.seed, self.often = procedure, seed, often
        self.dice = Dice(seed)
        self.files = MortalFiles(waits=seed % WAITS_ONE_IN == 0)
        self.outside = SetOutside(files=self.files)
        folder.mkdir(parents=True, exist_ok=True)
        self.run = Watched.begin(procedure, self.outside, folder, gates=gates)
        self.run.told = self.confirmed
        self.lawful = Steady(self.dice)
        self.odd = self.dice.pick((0, 0, 2, 5, 12))
        self.wrong = self.dice.pick((0, 0, 2, 8))
        self.most = TURNS + 8 * len(procedure.nodes)
        self.turns = 0
        self.counts: Counter[str] = Counter()
        self.heads: dict[int, bytes] = {}
        """The chain value of every entry that was confirmed."""
        self.deaths: list[tuple[int, str]] = []
        """How long the file was at each death, and the SHA-256 of that."""
        self.told = 0
        self.over: Job | None = None
        """The job of a run that was sealed in the write in which it died."""
        self.fork_at = 0
        self.counts["runs that wait for the medium"] += self.files.waits

    @property
    def job(self) -> Job:
        """The job as recorded."""
        return self.over or self.run.job

    @property
    def path(self) -> Path:
        """The log."""
        assert self.run.path is not None, "nothing was recorded"
        return self.run.path

    def confirmed(self, recorded: Recorded) -> None:
        """Keep what was confirmed as recorded."""
        self.told += 1
        self.heads[recorded.n] = recorded.head

    # turns

    def play(self) -> None:
        """To the seal."""
        while self.job.phase != "sealed" and self.turns < self.most:
            if self.run.path is not None:
                self.fate()
            if self.job.phase != "sealed":
                self.turn()

    def turn(self) -> None:
        """What is asked, or something else that is allowed, after something that is not."""
        self.turns += 1
        if self.dice.chance(4):
            self.outside.pass_time(self.dice.pick((60_000, 400_000, 1_300_000, 8_000_000)))
        if self.dice.chance(1):
            self.outside.set_wall(self.dice.pick((-3_600_000, 900_000, 7_200_000)))
        wanted = self.wanted()
        if self.dice.chance(self.wrong):
            for action in unlawful(self.run.job, wanted, self.dice, self.run.stamp())[:1]:
                self.act(action)
            return
        if self.dice.chance(self.odd) and (odd := self.lawful.odd(self.run.job, wanted, self.run.stamp())):
            self.act(odd)
            return
        if wanted.kind == "wait" or (wanted.kind == "due" and not wanted.options and wanted.until_ms):
            self.outside.pass_time(wanted.until_ms + 50)
            self.act(a.LetTimePass(who="clock", stamp=self.run.stamp()))
            return
        stuck = self.turns > self.most - 40 and self.run.job.phase != "making safe"
        stamp = self.run.stamp()
        self.act(self.lawful.give_up(stamp) if stuck else self.lawful.action(self.run.job, wanted, stamp))

    def wanted(self) -> Demand:
        """What is asked now."""
        return demand(self.run.job, self.run.stamp())

    def act(self, action: a.Action) -> None:
        """Confirm an action; whatever happens to the process, the disk or the medium, the run goes on afterwards."""
        seq, told = self.run.job.seq, self.told
        try:
            refusal = self.run.act(action)
        except Killed as killed:
            self.counts["kills in mid-entry"] += 1
            self.counts[f"an entry left: {killed}"] += 1
            self.take_up()
            return
        except NotRecorded as failed:
            assert self.run.job.seq - seq == self.told - told, "not recorded, and shown as recorded"
            if failed.may_retry:
                self.counts["full disks"] += 1
                self.run.act(action)
                return
            self.counts["failed syncs"] += 1
            self._nothing_more_is_accepted()
            self.take_up()
            return
        self.counts["refusals"] += refusal is not None

    def _nothing_more_is_accepted(self) -> None:
        note = Noted(node="", text="once more")
        asked = self.run.asked
        try:
            self.run.record(Entry("Ann", self.run.stamp(), (note,)))
        except Latched:
            self.run.asked = asked
            return
        raise AssertionError("an entry was accepted after a failed sync")

    # interruptions

    def fate(self) -> None:
        """What comes between two turns, if anything."""
        if self.fork_at and self.turns >= self.fork_at:
            from tests.soak.forked import killed_by_the_system

            self.fork_at = 0
            killed_by_the_system(self)
            return
        drawn = self.dice.number(0, 999)
        for name, share in FATES:
            if drawn < share * self.often:
                self._meet(name)
                return
            drawn -= share * self.often

    def _meet(self, name: str) -> None:
        who = {"who": self.run.job.performer or "Ann"}
        if name == "killed":
            self.counts["kills between entries"] += 1
            self.take_up()
        elif name == "torn":
            self.files.strike, self.files.share = self.dice.pick(TORN), self.dice.number(0, 999) / 1000
        elif name in ("full", "sync"):
            self.files.strike, self.files.share = name, self.dice.number(0, 999) / 1000
        elif name == "pause":
            self.act(a.Pause(**who, stamp=self.run.stamp(), note="about to go on"))
            if self.run.job.paused and self.dice.chance(50):
                self.counts["left while paused"] += 1
                self.take_up()
        else:
            made_by = {"hand over": Lawful._hand_over, "correct": Lawful._correct, "reopen": Lawful._reopen}
            make = made_by[name]
            for _ in range(3):  # what is picked at random is often refused
                action = make(self.lawful, self.run.job, self.wanted(), {**who, "stamp": self.run.stamp()})
                seq = self.run.job.seq
                if action is not None:
                    self.act(action)
                if self.run.job.seq == seq or self._accepted():
                    return

    def _accepted(self) -> bool:
        return self.run.asked is not None and self.run.asked.kind != "refused"

    def take_up(self, told: int = 0, *, by_another: bool = False) -> None:
        """The process is gone; another one takes the run up, itself dying on the way now and then.

        `told` is how many entries another process confirmed, of which the run in hand here knows nothing.
        """
        self.files.strike = ""
        dead, job, path, boot = self.run, self.run.job, self.path, self.outside.boot
        dead.close()
        data = path.read_bytes()
        self.deaths.append((len(data), hashlib.sha256(data).hexdigest()))
        if self.dice.chance(30):
            self.counts["machines started anew"] += 1
            self.outside.reboot()
            self.outside.wall_ms += self.dice.pick((5_000, 600_000, 90_000_000))
        elif self.dice.chance(30):
            self.outside.pass_time(3_000_000)
        if self.dice.chance(10):
            self.files.strike, self.files.share = self.dice.pick(TORN), self.dice.number(0, 999) / 1000
        asked = None if by_another else dead.asked
        for _ in range(2):
            try:
                self.run = Watched.resume(path, self.outside)
                break
            except Killed:
                self.counts["kills while taken up"] += 1
            except Sealed:
                self.counts["sealed in its last breath"] += 1
                self.over = replay(scan_file(path))
                self._same(self._after(job, dead.size, boot, asked, told), self.over)
                return
        self.counts["taken up again"] += 1
        self.run.told = self.confirmed
        self.run.measure()
        self._same(self._after(job, dead.size, boot, asked, told), self.run.job)
        assert self.run.job.procedure == self.procedure
        self.run._job = self.run.job.but(procedure=self.procedure)  # the same, and looked at more quickly

    def _after(self, job: Job, size: int, boot: str, asked: Entry | None, told: int) -> Job:
        """What the file says to the job that was confirmed: what was told besides, and at most one entry more."""
        more = 0
        for line in _lines(self.path, size):
            if line["kind"] == "opened":
                job = interrupted(job)
            elif line["kind"] not in ("clock", "scar"):
                more += 1
                stamp = Stamp(wall_from_iso(line["utc"]), self.outside.offset_min, line["mono_ms"], boot)
                entry = from_record(line["data"], stamp)
                assert asked is None or entry == asked, "another entry than the one that was being written"
                job = evolve(job, entry)
        assert told <= more <= told + 1, f"{more} entries where {told} were confirmed"
        self.counts["found, not confirmed"] += more - told
        return job

    def _same(self, mine: Job, taken_up: Job) -> None:
        mine = mine.but(procedure=taken_up.procedure)
        if mine == taken_up:
            assert (mine.before is None) == (taken_up.before is None), "another act can be taken back"
            return
        unlike = [k for k in mine.__dict__ if k != "before" and mine.__dict__[k] != taken_up.__dict__[k]]
        raise AssertionError(f"taken up as another job: {unlike}")


def _lines(path: Path, begin: int) -> Iterator[dict]:
    """The entries that stand in the file from a byte on; fragments are none."""
    with path.open("rb") as file:
        file.seek(begin)
        for raw in file.read().split(b"\n"):
            if raw and not raw.endswith(CUT):
                yield json.loads(raw)
