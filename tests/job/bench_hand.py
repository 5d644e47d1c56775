"""A hand at the bench for tests: a job from YAML text, a clock that is set, `do` / `refuse` / `expect`, no magic.

    hand = Hand(TEXT)                       # linked, started by Ann, everything laid out
    hand.expect("act", subject="bolt")      # what the gate asks now
    hand.do(a.Do, act=0)                    # accepted, or the test fails
    hand.refuse(a.Do, act=0, why="not now", lift="")
    hand.go("lower")                        # answer whatever is asked, plainly, until the step `lower` is in hand

Every entry goes through the log's form and back, and the job must be what the entries alone lead to.
"""

import json
from collections.abc import Mapping

from runner.job import actions as a
from runner.job import events as e
from runner.job.asking import demand
from runner.job.decide import Ask, Refusal, decide
from runner.job.demand import Demand
from runner.job.evolve import evolve, interrupted
from runner.job.gates import Gates
from runner.job.record import from_record, to_record
from runner.job.state import Job, new_job
from runner.picture import picture
from runner.procedure.linked import Procedure
from runner.stamp import Stamp
from runner.view import View
from tests.procedure.procedure_text import linked

NINE = 1_780_000_000_000


class Clock:
    """A wall clock and a running clock that move together unless a test says otherwise."""

    def __init__(self) -> None:
        self.wall_ms = NINE
        self.mono_ms = 5_000
        self.boot = "boot 1"

    def now(self) -> Stamp:
        return Stamp(self.wall_ms, 120, self.mono_ms, self.boot)

    def wait(self, *, h: float = 0, min: float = 0, s: float = 0) -> None:  # noqa: A002  the unit's own name
        """Both clocks move on."""
        ms = int((h * 3600 + min * 60 + s) * 1000)
        self.wall_ms += ms
        self.mono_ms += ms

    def set_wall(self, *, h: float = 0) -> None:
        """Somebody sets the wall clock; the running clock does not notice."""
        self.wall_ms += int(h * 3_600_000)

    def reboot(self) -> None:
        """Another boot: the running clock begins anew."""
        self.boot += "+"
        self.mono_ms = 1_000


class Hand:
    """One person (and whoever else is named) carrying out one procedure."""

    def __init__(
        self,
        text: str | Procedure,
        *,
        gates: Gates | None = None,
        ask: Ask | None = None,
        begin: bool = True,
        start: Mapping[str, str] | None = None,
        choose: Mapping[str, str] | None = None,
        **used: str,
    ) -> None:
        self.procedure = text if isinstance(text, Procedure) else linked(text, **used)
        self.clock = Clock()
        self.ask = ask
        self.job: Job = new_job(self.procedure, gates)
        self.first = self.job
        self.entries: list[e.Entry] = []
        self.values: dict[str, str] = {}
        self.answers: dict[str, str] = {}
        if begin:
            self.begin(start or {}, choose or {})

    # what is done

    def act(self, kind: type[a.Action], who: str = "Ann", /, **words: object) -> Refusal | None:
        """Let the time pass, then try an action: as `Run.act` does, with memory instead of a log."""
        if not issubclass(kind, a.LetTimePass):
            self._take(decide(self.job, a.LetTimePass(who="clock", stamp=self.clock.now())).entry)
        action = kind(who=who, stamp=self.clock.now(), **words)  # type: ignore[arg-type]
        before = self.job
        decision = decide(self.job, action, self.ask)
        assert decide(self.job, action, self.ask) == decision, "decide is not deterministic"
        assert self.job is before, "decide changed something"
        self._take(decision.entry)
        return decision.refusal

    def do(self, kind: type[a.Action], who: str = "Ann", /, **words: object) -> tuple[e.Event, ...]:
        """An action that is accepted; gives its events, the act first."""
        count = len(self.entries)
        refusal = self.act(kind, who, **words)
        assert refusal is None, f"{kind.__name__} was refused: {refusal.text} | {refusal.lift}"
        return self.entries[-1].events if len(self.entries) > count else ()

    def refuse(
        self, kind: type[a.Action], who: str = "Ann", /, *, why: str, lift: str, **words: object
    ) -> None:
        """An action that is refused, saying `why` and what would lift it; nothing changes but the record."""
        self.tick()
        before = self.job
        refusal = self.act(kind, who, **words)
        assert refusal is not None, f"{kind.__name__} was accepted: {self.entries[-1].events}"
        assert why in refusal.text, refusal
        assert lift in refusal.lift, refusal
        assert refusal.lift
        assert self.job.but(seq=0, last=None) == before.but(seq=0, last=None)

    def tick(self, says: str | None = None) -> tuple[e.Event, ...]:
        """Let the clock's word be heard; gives what came of it."""
        count = len(self.entries)
        self.act(a.LetTimePass, "clock" if says is None else "Ann", says=says)
        return self.entries[-1].events if len(self.entries) > count else ()

    def wait(self, **units: float) -> tuple[e.Event, ...]:
        """Time passes."""
        self.clock.wait(**units)
        return self.tick()

    def reopen_log(self) -> None:
        """The program is started again on the log: as after a pause, by the entries alone."""
        self.job = interrupted(self.job)

    # what is seen

    @property
    def demand(self) -> Demand:
        return demand(self.job, self.clock.now())

    @property
    def view(self) -> View:
        return picture(self.job, self.clock.now())

    @property
    def at(self) -> str:
        """The step in hand, or ''."""
        return self.job.node.id if self.job.node else ""

    def expect(self, kind: str, step: str | None = None, **words: object) -> Demand:
        """What is asked now: its kind, the step in hand, and any field of the demand (texts as a part)."""
        now = self.demand
        assert now.kind == kind, now
        if step is not None:
            assert self.at == step, now
        for name, wanted in words.items():
            found = getattr(now, name)
            if isinstance(wanted, str) and name in ("prompt", "lift", "band"):
                assert wanted in found, now
            else:
                assert found == wanted, now
        return now

    def options(self) -> list[str]:
        return [option.key for option in self.demand.options]

    def state(self, item: str) -> str:
        return self.job.state_of(item)

    def owed(self) -> list[str]:
        return list(self.job.owed)

    def entries_acts(self) -> list[e.Acted | e.Tightened]:
        """Every act on an item so far, in order."""
        acts = (e.Acted, e.Tightened)
        return [event for entry in self.entries for event in entry.events if isinstance(event, acts)]

    def kinds(self) -> list[str]:
        """The kinds of the events of the last entry."""
        return [event.kind for event in self.entries[-1].events]  # type: ignore[attr-defined]

    def happened(self, kind: type[e.Event]) -> list[e.Event]:
        return [event for entry in self.entries for event in entry.events if isinstance(event, kind)]

    # the plain way through

    def begin(self, start: Mapping[str, str], choose: Mapping[str, str]) -> None:
        counters = tuple((counter.name, "12000") for counter in self.procedure.counters)
        self.do(a.Start, work_piece="T-1", counters=counters)
        self.begin_rest(start, choose)

    def begin_rest(self, start: Mapping[str, str] = {}, choose: Mapping[str, str] = {}) -> None:
        """Choose and lay out what is still asked before step 1."""
        while self.demand.kind in ("choose", "prepare"):
            now = self.demand
            if now.kind == "choose":
                value = choose.get(now.subject, now.options[0].key)
                self.do(a.ChooseLocation, name=now.subject, value=value)
                continue
            kind, _, name = now.options[0].key.partition(":")
            if kind == "tool":
                self.do(a.CountIn, tool=name, identity=f"{name} no. 1")
                continue
            value = {"person": "Bo", "condition": start.get(name, "")}.get(kind, "")
            if kind == "condition" and not value:
                value = self.procedure.condition_by_name[name].at_start[0]
            self.do(a.MeetPrerequisite, key=now.options[0].key, value=value)

    def go(self, until: str, most: int = 300) -> None:
        """Answer what is asked in the plainest way until a step of that name or a demand of that kind is there."""
        for _ in range(most):
            now = self.demand
            fresh = not self.job.progress.begun and now.kind not in ("cue", "due")
            if until == now.kind or (self.job.phase == "working" and until == self.at and fresh):
                return
            self.answer(now)
        raise AssertionError(f"never came to {until}: {self.demand}")

    def answer(self, now: Demand | None = None) -> None:
        """The plain answer to one demand: the first way, a value in its band, what is cued taken up."""
        now = now or self.demand
        match now.kind:
            case "acknowledge":
                self.do(a.Acknowledge, notice=now.index)
            case "new part":
                self.do(a.ConfirmPart, item=now.subject)
            case "act":
                self.do(a.Do, act=now.index)
            case "confirm":
                self.do(a.Do)
            case "tighten":
                self.tighten()
            case "reading":
                self.do(a.Read, name=now.subject, raw=self.values.get(now.subject, "1"))
            case "second reading":
                self.do(a.Read, "Cy", name=now.subject, raw=self.values.get(now.subject, "1"))
            case "look" | "question":
                label = self.answers.get(self.at, now.options[0].key)
                self.do(a.Look if now.kind == "look" else a.Answer, label=label)
            case "hold":
                self.do(a.Release, "Bo", released=True)
            case "cue" | "due" if now.options:
                self.do(a.TakeUp, key=now.options[0].key)
            case "wait":
                self.wait(s=now.until_ms / 1000)
            case "close out":
                kind, _, rest = now.options[0].key.partition(":")
                if kind == "tool":
                    self.do(a.CountOut, tool=rest)
                else:
                    self.do(a.CloseOut, line=int(rest), text="none")
            case "make safe":
                self.do(a.MakeSafe, line=int(now.options[0].key.partition(":")[2]))
            case "seal":
                self.do(a.Seal, outcome=now.options[0].key, reason="the end")
            case "resume":
                self.do(a.Resume)
            case "reconfirm":
                self.do(a.Reconfirm, key=now.options[0].key)
            case _:
                raise AssertionError(f"no plain answer to {now}")

    def tighten(self, raw: str = "", method: str = "", who: str = "Ann", **other: object) -> None:
        """The fastener whose turn it is: by the first method that needs no value, or measured as `raw`."""
        now = self.expect("tighten")
        plain = [way for way in now.methods if way != "measured"] or [now.methods[0]]
        words = {"item": now.subject, "stage": now.stage, "member": now.member, **other}
        self.do(a.Tighten, who, method=method or ("measured" if raw else plain[0]), raw=raw, **words)

    # the record

    def _take(self, entry: e.Entry | None) -> None:
        if entry is None:
            return
        _, data = to_record(entry)
        again = from_record(json.loads(json.dumps(data)), entry.stamp)
        assert again == entry, "an entry does not come back from the log as it went in"
        self.entries.append(entry)
        self.job = evolve(self.job, again)
