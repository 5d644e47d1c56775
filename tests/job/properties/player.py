"""Plays one run: mostly what is asked, sometimes what is wrong, with every promise of the engine checked on the way.

After each entry its line is read back from the file and folded into a second job, which must equal the first.
"""

import json
from dataclasses import replace
from io import BytesIO
from pathlib import Path

from runner.job import actions as a
from runner.job.asking import demand
from runner.job.decide import decide
from runner.job.demand import Demand
from runner.job.evolve import evolve, interrupted
from runner.job.gates import Gates
from runner.job.record import from_record
from runner.job.state import Job
from runner.log.scan import Scanner
from runner.outside import Files
from runner.procedure.linked import Procedure
from runner.replaying import job_of, replay
from runner.run import Run
from runner.stamp import Stamp, wall_from_iso
from tests.doubles import SetOutside
from tests.job.properties.dice import Dice
from tests.job.properties.lawful import Lawful
from tests.job.properties.unlawful import unlawful

TURNS = 300


class QuickFiles(Files):
    """Real files without waiting for the medium; the crash tests of the log wait for it."""

    def fdatasync(self, fd: int) -> None:
        """Trust the system."""

    def fsync_dir(self, folder: Path) -> None:
        """Trust the system."""


class Player:
    """One run from before its start to its seal. `wrong` and `odd` are chances in a hundred per turn."""

    def __init__(
        self,
        procedure: Procedure,
        dice: Dice,
        folder: Path,
        *,
        wrong: int = 15,
        odd: int = 12,
        gates: Gates | None = None,
    ) -> None:
        self.procedure, self.dice, self.wrong, self.odd = procedure, dice, wrong, odd
        self.outside = SetOutside(files=QuickFiles())
        folder.mkdir(parents=True, exist_ok=True)
        self.run = Run.begin(procedure, self.outside, folder, gates=gates)
        self.lawful = Lawful(dice)
        self.history: list[Job] = []
        self.ends: list[int] = []
        self.shadow: Job | None = None
        self.most = TURNS + 8 * len(procedure.nodes)
        self.turns = self.refusals = self.interruptions = 0

    def play(self) -> "Player":
        """Play to the seal."""
        while not self.run.sealed and self.turns < self.most:
            self.turns += 1
            self.turn()
        self.check_prefixes(3)
        self.check_after_the_seal()
        return self

    @property
    def data(self) -> bytes:
        """The bytes of the log."""
        return self.run.path.read_bytes() if self.run.path else b""

    def turn(self) -> None:
        """One thing, or one thing after a wrong one."""
        if self.run.path and self.dice.chance(2):
            self.interrupt()
        if self.dice.chance(6):
            self.outside.pass_time(self.dice.pick((60_000, 400_000, 1_300_000, 8_000_000)))
        if self.dice.chance(2):
            self.outside.set_wall(self.dice.pick((-3_600_000, 900_000, 7_200_000)))
        wanted = self.wanted()
        if self.dice.chance(self.wrong):
            for action in unlawful(self.run.job, wanted, self.dice, self.stamp()):
                self.attempt(action)
            wanted = self.wanted()
        if self.dice.chance(3) and self.run.job.seq:
            stale = self.lawful.action(self.run.job, wanted, self.stamp())
            self.attempt(replace(stale, seen=self.run.job.seq - 1), must_refuse=True)
            wanted = self.wanted()
        if self.dice.chance(self.odd) and (action := self.lawful.odd(self.run.job, wanted, self.stamp())):
            self.attempt(action)
            return
        if wanted.kind == "wait" or (wanted.kind == "due" and not wanted.options and wanted.until_ms):
            self.outside.pass_time(wanted.until_ms + 50)
            self.attempt(a.LetTimePass(who="clock", stamp=self.stamp()))
            return
        stuck = self.turns > self.most - 40 and self.run.job.phase != "making safe"
        action = (
            self.lawful.give_up(self.stamp())
            if stuck
            else self.lawful.action(self.run.job, wanted, self.stamp())
        )
        self.attempt(action)

    def stamp(self) -> Stamp:
        """Now."""
        return self.run.stamp()

    def wanted(self) -> Demand:
        """What is asked, after the clock has had its say."""
        if self.run.job.phase not in ("new", "sealed"):
            self.attempt(a.LetTimePass(who="clock", stamp=self.stamp()))
        return demand(self.run.job, self.run.job.last)

    def attempt(self, action: a.Action, *, must_refuse: bool = False) -> None:
        """Decide twice, record, apply, read back, compare."""
        job = self.run.job
        decision = self.run.decide(action)
        if self.dice.chance(5):
            assert decide(job, action, self.run.ask_for(action)) == decision, f"not deterministic: {action}"
        assert self.run.job is job, "deciding changed the job"
        entry, refusal = decision.entry, decision.refusal
        if not isinstance(action, a.LetTimePass) and job.phase not in ("new", "sealed"):
            assert entry is not None, f"neither recorded nor refused: {action}"
        assert not must_refuse or refusal is not None, f"accepted from an old screen: {action}"
        if refusal is not None:
            self.refusals += 1
            assert refusal.text, f"refused without a word: {action}"
            assert refusal.lift, f"refused without what would lift it: {refusal} for {action}"
        if entry is None:
            return
        assert entry.events, "an entry of nothing"
        self.run.record(entry)
        self.run.apply(entry)
        if refusal is not None and entry.kind == "refused":
            before = replace(job, seq=self.run.job.seq, last=self.run.job.last)
            assert before == self.run.job, f"a refusal changed the job: {action}"
        self.read_back()

    def read_back(self) -> None:
        """Fold what stands in the file into a second job; it must be the first one."""
        assert self.run.path is not None
        with self.run.path.open("rb") as file:
            file.seek(self.ends[-1] if self.ends else 0)
            new = file.read()
        for raw in new.splitlines(keepends=True):
            self.ends.append((self.ends[-1] if self.ends else 0) + len(raw))
            if raw.endswith(b"\x18\n"):
                self.history.append(self.run.job)
                continue
            self._fold(json.loads(raw))
        self._same(self.shadow, "what is read back is another job")

    def _fold(self, line: dict) -> None:
        if line["kind"] == "run":
            assert Procedure.from_data(line["data"]["procedure"]) == self.procedure
            self.shadow = job_of(line["data"]).but(procedure=self.procedure)
        elif line["kind"] == "opened":
            self.shadow = interrupted(self.shadow)
        elif line["kind"] not in ("clock", "scar"):
            stamp = Stamp(
                wall_from_iso(line["utc"]), self.outside.offset_min, line["mono_ms"], self.outside.boot
            )
            self.shadow = evolve(self.shadow, from_record(line["data"], stamp))
        self.history.append(self.shadow)

    def _same(self, other: Job | None, words: str) -> None:
        mine = self.run.job
        if other == mine:
            assert (other.before is None) == (mine.before is None), f"{words}: what can be taken back"
            return
        assert other is not None
        unlike = [k for k in mine.__dict__ if k != "before" and other.__dict__[k] != mine.__dict__[k]]
        raise AssertionError(f"{words}: {unlike}: {[other.__dict__[k] for k in unlike]}")

    def check_prefixes(self, number: int) -> None:
        """The bytes up to some entry, replayed, give the job that was there then."""
        data = self.data
        places = [len(self.ends) - 1, *(self.dice.number(1, len(self.ends) - 1) for _ in range(number - 1))]
        for place in places:
            scanner = Scanner(BytesIO(data[: self.ends[place]]))
            records = tuple(scanner)
            if len(records) - 1 < place:
                continue  # it ends in the fragment of a scar
            then = replay(replace(scanner.report, records=records)).but(procedure=self.procedure)
            assert then == self.history[place], f"the prefix of {place} entries replays to another job"

    def interrupt(self) -> None:
        """The program dies, perhaps in mid-write and with the machine, and is taken up again."""
        self.interruptions += 1
        self.run.close()
        if self.dice.chance(30):
            with self.run.path.open("ab") as file:
                file.write(b'{"data":{"events":[{"kind":"no')
        if self.dice.chance(40):
            self.outside.reboot()
            self.outside.wall_ms += self.dice.pick((5_000, 600_000, 90_000_000))
        elif self.dice.chance(30):
            self.outside.pass_time(3_000_000)
        self.run = Run.resume(self.run.path, self.outside)
        self.run._job = self.run._job.but(procedure=self.procedure)  # compared once, in `_fold`
        self._same_after_resume()

    def _same_after_resume(self) -> None:
        torn = self.data[self.ends[-1] :]
        if b"\x18\n" in torn:
            fragment = torn.index(b"\x18\n") + 2
            self.ends[-1] += fragment
        self.read_back()

    def check_after_the_seal(self) -> None:
        """Nothing follows a seal."""
        if not self.run.sealed:
            return
        size = len(self.data)
        actions = [self.lawful.action(self.run.job, demand(self.run.job), self.stamp())]
        actions += [a.Note(who="Ann", stamp=self.stamp(), text="too late"), self.lawful.give_up(self.stamp())]
        actions += unlawful(self.run.job, demand(self.run.job), self.dice, self.stamp())
        for action in actions:
            decision = self.run.decide(action)
            assert decision.entry is None, f"recorded after the seal: {action}"
            assert decision.refusal is not None or isinstance(action, a.LetTimePass)
        assert len(self.data) == size
