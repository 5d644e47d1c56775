"""What a person of good will does: answers what is asked, and now and then what the design allows besides."""

from decimal import Decimal

from runner.job import actions as a
from runner.job.demand import Demand
from runner.job.deviating import ALLOWED
from runner.job.state import Job
from runner.procedure.kinds import states_of
from runner.procedure.linked import Interval, Reading
from runner.stamp import Stamp
from tests.job.properties import wrenches
from tests.job.properties.dice import Dice

PHOTO = "front.jpg " + "ab" * 32


class Lawful:
    """`who` works; Bo checks; Cy reads second; Chief has the authority."""

    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.stops = 0
        self.blocks = 0

    def give_up(self, stamp: Stamp) -> a.Action:
        """Leave the run."""
        return a.Seal(who="Ann", stamp=stamp, outcome="abandoned", reason="no end in sight")

    def action(self, job: Job, wanted: Demand, stamp: Stamp) -> a.Action:
        """What answers the demand."""
        who = job.performer or "Ann"
        at = {"who": who, "stamp": stamp}
        kind = wanted.kind.replace(" ", "_")
        return getattr(self, f"_{kind}", self._other)(job, wanted, at)

    def _start(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Start(**at, work_piece="T-1", counters=tuple((o.key, "12000") for o in wanted.options))

    def _choose(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.ChooseLocation(**at, name=wanted.subject, value=self.dice.pick(wanted.options).key)

    def _prepare(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = self.dice.pick(wanted.options).key
        if key.startswith("tool:"):
            if key[5:] == wrenches.TORQUE_WRENCH and self.dice.chance(12):
                return wrenches.unfit(job, self.dice, at)
            wrench = wrenches.for_tool(key[5:], self.dice)
            return a.CountIn(**at, tool=key[5:], identity=self.dice.pick(("", "W-7")), wrench=wrench)
        value = {"person": "Bo", "condition": ""}.get(key.partition(":")[0], "")
        if key.startswith("condition:"):
            value = self.dice.pick(job.procedure.condition_by_name[key[10:]].at_start)
        return a.MeetPrerequisite(**at, key=key, value=value)

    def _acknowledge(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Acknowledge(**at, notice=wanted.index)

    def _new_part(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.ConfirmPart(**at, item=wanted.subject, number="T-1042")

    def _act(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Do(**at, act=wanted.index)

    def _confirm(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Do(**at)

    def _tighten(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        if len(wanted.sequence) > 1 and self.dice.chance(5):
            return self.deviation(wanted, at, "different order", subject=str(self.dice.pick(wanted.sequence)))
        if wanted.specified and self.dice.chance(10):
            made = self.dice.pick((wrenches.swap, wrenches.fit))(job, self.dice, at)
            if made is not None:
                return made
        method = self.dice.pick(wanted.methods)
        stage = job.procedure.item_by_key[wanted.subject].stages[wanted.stage - 1]
        raw = self.value(stage.band) if method == "measured" else ""
        if raw and wanted.specified:
            raw = wrenches.read_on(wanted.big, self.dice)
        return a.Tighten(
            **at, item=wanted.subject, stage=wanted.stage, member=wanted.member, method=method, raw=raw
        )

    def value(self, band: Interval | None) -> str:
        """A value that lies in a band."""
        if band is None:
            return "1"
        if band.target is not None:
            return band.target
        limit = band.high if band.high is not None else band.low
        if band.low is not None and band.high is not None and self.dice.chance(50):
            return format((Decimal(band.low) + Decimal(band.high)) / 2, "f")
        return limit or "1"

    def _reading(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        node = job.node
        assert node is not None
        reading = next(r for r in node.readings if r.name == wanted.subject)
        return a.Read(**at, name=wanted.subject, raw=self._raw(reading))

    def _raw(self, reading: Reading) -> str:
        if reading.kind != "number":
            return PHOTO if reading.kind == "photo" else "B-1042"
        if reading.sorting:
            sorting = self.dice.pick(reading.sorting)
            return self.value(sorting.band) if sorting.band else "7"
        return self.value(reading.band)

    def _second_reading(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return self._reading(job, wanted, at | {"who": self.dice.pick(("Cy", "Bo", "Dee", "Eve"))})

    def _worked_out(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        if self.dice.chance(50):
            keys = [key for key in job.recorded if key.startswith("read ")]
            return a.Correct(**at, key=self.dice.pick(keys), raw="1.5", reason="misread")
        return self.deviation(wanted, at, "out of band")

    def _question(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Answer(**at, label=self._label(wanted))

    def _look(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Look(**at, label=self._label(wanted))

    def _label(self, wanted: Demand) -> str:
        return wanted.options[0].key if self.dice.chance(40) else self.dice.pick(wanted.options).key

    def _hold(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        at = at | {"who": self.dice.pick(("Bo", "Cy", "Dee", "Eve"))}
        return a.Release(**at, released=not self.dice.chance(15), said="as it should be")

    def _cue(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = self.dice.pick(wanted.options).key
        if self.dice.chance(25):
            return a.PassBy(**at, key=key, reason="later")
        return a.TakeUp(**at, key=key)

    def _due(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        self.blocks += 1
        if wanted.options and not self.dice.chance(8) and self.blocks % 7:
            return a.TakeUp(**at, key=wanted.options[0].key)
        owed = job.owed[wanted.subject]
        late = owed.overdue and not owed.late_allowed
        return self.deviation(wanted, at, "late" if late else "not done")

    def _doubt(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.LetTimePass(**at, says=self.dice.pick(("passed", "not yet")))

    def _resume(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Resume(**at)

    def _reconfirm(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = wanted.options[0].key
        if job.differs:
            return a.ExtraWork(**at, text="what differs is made good")
        return a.Reconfirm(**at, key=key, as_recorded=not self.dice.chance(3))

    def _handover(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        if self.dice.chance(20):
            return a.TakeOverAlone(**at | {"who": "Gus"}, reason="gone home")
        return a.AcceptHandover(**at | {"who": wanted.role})

    def _blocked(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        self.blocks += 1
        if wanted.tool and self.blocks <= 20:
            if self.dice.chance(50):
                help_ = wrenches.fit if wrenches.TORQUE_WRENCH in job.extensions else wrenches.swap
                return help_(job, self.dice, at) or self.give_up(at["stamp"])
            return self.deviation(wanted, at, "unfit tool")
        if wanted.subject in job.ledger and not job.hand and self.dice.chance(50):
            return a.PutOff(**at, reason="it cannot be done here")
        if self.blocks > 20 or (wanted.subject == "need" and self.dice.chance(30)):
            return self.give_up(at["stamp"])
        return self.deviation(wanted, at, "different order" if wanted.subject == "need" else "not done")

    def _restore(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.FoundCondition(**at, name=wanted.subject, value=job.conditions[wanted.subject])

    def _stop(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        self.stops += 1
        node = job.node
        if self.stops > 10 or self.dice.chance(8):
            return self.give_up(at["stamp"])
        if node is not None and node.answers and self.dice.chance(60):
            label = self.dice.pick(node.answers).label
            return a.Look(**at, label=label) if node.look_for else a.Answer(**at, label=label)
        if job.progress.hold == "refused" and self.dice.chance(60):
            return a.Release(**at | {"who": self.dice.pick(("Bo", "Cy"))}, released=True)
        if node is not None and any(r.sorting for r in node.readings) and self.dice.chance(60):
            reading = next(r for r in node.readings if r.sorting)
            return a.Read(**at, name=reading.name, raw=self._raw(reading))
        return self.deviation(wanted, at, "go on")

    def _close_out(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        key = self.dice.pick(wanted.options).key
        if self.dice.chance(4):
            return a.Deviate(**at, kind="not done", reason="lost", subject=key)
        if key.startswith("tool:"):
            return a.CountOut(**at, tool=key[5:])
        return a.CloseOut(**at, line=int(key[5:]), text="none")

    def _make_safe(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.MakeSafe(**at, line=int(wanted.options[0].key[5:]))

    def _seal(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        still_open = [i.key for i in job.procedure.items if job.exists(i.key) and not job.is_final(i.key)]
        loose = [key for key in still_open if not job.ledger[key].not_done]
        if job.phase == "closing" and loose and self.dice.chance(80):
            return a.Deviate(**at, kind="not done", reason="left", authority="Chief", subject=loose[0])
        return a.Seal(**at, outcome=wanted.options[0].key if wanted.options else "abandoned", reason="done")

    def _other(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return self.give_up(at["stamp"])

    def deviation(self, wanted: Demand, at: dict, kind: a.DeviationKind, **more: str) -> a.Deviate:
        """A departure with a reason and, mostly, another person's word."""
        authority = "Chief" if wanted.critical or kind == "go on" or self.dice.chance(80) else ""
        return a.Deviate(**at, kind=kind, reason=f"why {kind}", authority=authority, **more)

    def odd(self, job: Job, wanted: Demand, stamp: Stamp) -> a.Action | None:
        """Something that the design allows at this moment besides what is asked."""
        at = {"who": job.performer or "Ann", "stamp": stamp}
        made = self.dice.pick(_ODD)(self, job, wanted, at)
        if made is None and wanted.kind in ALLOWED:
            return self._deviate(job, wanted, at)
        return made

    def _deviate(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        if not ALLOWED.get(wanted.kind) or self.dice.chance(50):
            return None
        kind = self.dice.pick(ALLOWED[wanted.kind])
        subject = (
            wanted.options[0].key
            if wanted.kind in ("prepare", "close out", "due", "cue") and wanted.options
            else ""
        )
        if kind == "unfit tool" and self.dice.chance(70):
            tool = self.dice.pick((wrenches.TORQUE_WRENCH, wrenches.GAP_GAUGE))
            return wrenches.unfit(job, self.dice, at, tool)
        if kind == "different order" and wanted.sequence:
            subject = str(self.dice.pick(wanted.sequence))
        return self.deviation(wanted, at, kind, subject=subject, raw=self.dice.pick(("33", "0.5", "7")))  # type: ignore[arg-type]

    def _note(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Note(**at, text="a remark")

    def _take_back(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.TakeBack(**at, reason="too soon")

    def _put_off(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.PutOff(**at, reason="the tool is elsewhere")

    def _extra(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.ExtraWork(**at, text="undertray off")

    def _extra_done(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        extra = [key for key, owed in job.owed.items() if owed.kind == "extra"]
        return a.ExtraWorkDone(**at, key=self.dice.pick(extra), said="on again") if extra else None

    def _take_up(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        return a.TakeUp(**at, key=self.dice.pick(sorted(job.owed))) if job.owed else None

    def _correct(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        keys = sorted(job.recorded) + [f"answer {node}" for node in job.answers]
        raw = self.dice.pick(("1.5", "60", "90", "0.02", "99"))
        return a.Correct(**at, key=self.dice.pick(keys), raw=raw, reason="misread") if keys else None

    def _reopen(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        if not job.procedure.items:
            return None
        item = self.dice.pick(job.procedure.items)
        state = self.dice.pick(states_of(item.kind, len(item.stages)))
        return a.Reopen(**at, item=item.key, state=state, reason="it leaks")

    def _not_applicable(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        items = [item.key for item in job.procedure.items]
        return a.NotApplicable(**at, subject=self.dice.pick(["", *items]), reason="not on this one")

    def _found(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        if not job.procedure.conditions:
            return None
        condition = self.dice.pick(job.procedure.conditions)
        return a.FoundCondition(**at, name=condition.name, value=self.dice.pick(condition.values))

    def _pause(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.Pause(**at, note="about to go on")

    def _hand_over(self, job: Job, wanted: Demand, at: dict) -> a.Action:
        return a.HandOver(**at, to=self.dice.pick(("Fay", "Hal", "Ann")))

    def _swap(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        return wrenches.swap(job, self.dice, at)

    def _fit(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        return wrenches.fit(job, self.dice, at)

    def _change_tool(self, job: Job, wanted: Demand, at: dict) -> a.Action | None:
        tools = sorted(job.tools)
        return (
            a.ChangeTool(**at, tool=self.dice.pick(tools), identity="W-9", reason="broke") if tools else None
        )


_ODD = (
    Lawful._note, Lawful._take_back, Lawful._take_back, Lawful._put_off, Lawful._extra, Lawful._extra_done,
    Lawful._take_up, Lawful._correct, Lawful._correct, Lawful._reopen, Lawful._not_applicable, Lawful._found,
    Lawful._pause, Lawful._hand_over, Lawful._change_tool, Lawful._deviate, Lawful._deviate, Lawful._deviate,
    Lawful._swap, Lawful._fit,
)  # fmt: skip
