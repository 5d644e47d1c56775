"""What a hurried, careless or confused person tries: each is a small attack on one rule of the gate."""

from runner.job import actions as a
from runner.job.demand import Demand
from runner.job.state import Job
from runner.stamp import Stamp
from tests.job.properties import wrenches
from tests.job.properties.dice import Dice


def unlawful(job: Job, wanted: Demand, dice: Dice, stamp: Stamp) -> list[a.Action]:
    """One to three attempts that the engine should refuse here (some happen to be right)."""
    who = dice.pick((job.performer or "Ann", "Bo", "Cy", "Ann", " "))
    at = {"who": who, "stamp": stamp}
    made: list[a.Action] = []
    for _ in range(dice.number(1, 3)):
        near = _NEAR.get(wanted.kind, _TRIES)
        tries = dice.pick(near if dice.chance(50) else _TRIES)
        made += tries(job, wanted, dice, at)
    return made


def _act(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Any act of the step, whatever is asked."""
    node = job.node
    acts = range(len(node.acts)) if node else ()
    return [a.Do(**at), *(a.Do(**at, act=index) for index in acts)]


def _tighten(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Another fastener, stage, method or value."""
    node = job.node
    made: list[a.Action] = []
    for act in node.acts if node else ():
        item = job.procedure.item_by_key[act.item]
        if not item.stages:
            continue
        number = wanted.stage if wanted.subject == act.item else dice.number(1, len(item.stages))
        for stage in {number, dice.number(1, len(item.stages))} - {0}:
            member = dice.number(1, item.count)
            method = dice.pick(("measured", "click", "by mark", "snug"))
            raw = dice.pick(("60", "90", "120", "12", "600", "", "60 J"))
            made.append(a.Tighten(**at, item=act.item, stage=stage, member=member, method=method, raw=raw))
    if wanted.kind == "tighten":
        asked = {"item": wanted.subject, "stage": wanted.stage, "member": wanted.member}
        made.append(a.Tighten(**at, **asked, method="measured", raw="12"))
        made.append(
            a.Tighten(**at, **asked, method="measured", raw=dice.pick(("60", "44", wanted.big, "82")))
        )
        made.append(
            a.Tighten(**at, **asked, method="by mark" if "by mark" not in wanted.methods else "click")
        )
    return made


def _wrench(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A wrench that is overdue or reaches nothing, an extension that leaves no arm, a fit tool called unfit."""
    tool = dice.pick((wrenches.TORQUE_WRENCH, wrenches.TORQUE_WRENCH, "socket", "saw"))
    bad, good = dice.pick(wrenches.UNFIT), dice.pick(wrenches.TOOLBOX)
    length = dice.pick((wrenches.TOO_LONG, wrenches.EXTENSIONS[0], None))
    subject = dice.pick(("", f"tool:{tool}"))
    unfit = {"kind": "unfit tool", "reason": dice.pick(("", "it is here")), "authority": "Chief"}
    return [
        a.CountIn(**at, tool=tool, wrench=bad),
        a.ChangeTool(**at, tool=tool, identity="", reason=dice.pick(("", "so")), wrench=bad),
        a.FitExtension(**at, tool=tool, extension=length),
        a.Deviate(**at, **unfit, subject=subject, wrench=dice.pick((None, good))),
    ]


def _read(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Any reading of the step, with a value that is out of band, or none."""
    node = job.node
    raw = dice.pick(("9", "99", "1.5", "", "1,2.3", "0.02", "two"))
    return [a.Read(**at, name=reading.name, raw=raw) for reading in (node.readings if node else ())]


def _answer(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """An answer before it is asked, or one that is none."""
    node = job.node
    labels = [way.label for way in node.answers] if node else []
    labels = [dice.pick(labels)] if labels else ["whole"]
    return [made for label in labels for made in (a.Answer(**at, label=label), a.Look(**at, label=label))]


def _release(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A release by the performer, or by whoever did the step."""
    node = job.node
    did = sorted(job.performed.get(node.id, ())) if node else []
    people = [job.performer, *did, at["who"]]
    return [a.Release(**at | {"who": dice.pick(people) or "Ann"}, released=True)]


def _second(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """The second reading by the one who gave the first."""
    if wanted.kind != "second reading":
        return []
    return [a.Read(**at | {"who": job.performer}, name=wanted.subject, raw="1.5")]


def _seal(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """The end before the end, or another end."""
    return [
        a.Seal(**at, outcome="finished"),
        a.Seal(**at, outcome="finished with open points", reason="so be it"),
    ]


def _abandon(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Leaving without a reason."""
    return [a.Seal(**at, outcome="abandoned", reason=" ")]


def _owed(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Owed work outside its window, or passed by where it is due."""
    keys = sorted(job.owed)
    return [made for key in keys for made in (a.PassBy(**at, key=key), a.TakeUp(**at, key=key))][:4]


def _put_off(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Any step at all, put off."""
    return [a.PutOff(**at, reason=dice.pick(("later", " ")))]


def _deviate(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A departure without a reason, or by the performer alone."""
    kinds: tuple[a.DeviationKind, ...] = (
        "out of band", "by feel", "other value", "substitute", "different order", "not done", "hold point", "late",
        "go on", "not available", "unfit tool",
    )  # fmt: skip
    subject = dice.pick(["", "1", "9", wanted.subject, *job.owed, *(o.key for o in wanted.options)])
    reason, raw = dice.pick(("", "why not", "why not")), dice.pick(("60", "9", "", "300"))
    authority = dice.pick(("", "", job.performer))
    return [
        a.Deviate(**at, kind=dice.pick(kinds), reason=reason, authority=authority, subject=subject, raw=raw)
    ]


def _correct(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A correction of anything, to anything."""
    keys = [*job.recorded, *(f"answer {node}" for node in job.answers), "read nothing|x|1"]
    raw = dice.pick(("9", "60", "1.5", "no number"))
    return [a.Correct(**at, key=dice.pick(keys), raw=raw, reason=dice.pick(("", "misread")))]


def _not_applicable(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Something already worked on is called not applicable."""
    touched = [
        k for k, state in job.ledger.items() if state.members[0] != job.procedure.item_by_key[k].at_start
    ]
    return [a.NotApplicable(**at, subject=subject, reason="gone") for subject in [*touched[:2], ""]]


def _reopen(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """An item reopened to a state that is no step back."""
    items = [item.key for item in job.procedure.items] or ["nothing"]
    return [
        a.Reopen(**at, item=dice.pick(items), state=dice.pick(("out", "stage 1", "final", "in")), reason="so")
    ]


def _found(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A condition that is no condition."""
    return [a.FoundCondition(**at, name=dice.pick(("support", "mood")), value=dice.pick(("raised", "low")))]


def _people(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A handover nobody offered, to nobody, by the wrong one; a takeover without a reason."""
    to = dice.pick((job.performer, "", "Fay"))
    return [
        a.AcceptHandover(**at | {"who": "Zoe"}),
        a.HandOver(**at | {"who": "Zoe"}, to=to or "Fay"),
        a.TakeOverAlone(**at, reason=""),
        a.TakeBack(**at),
    ]


def _begin(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A second start, a prerequisite of nobody, a tool counted out or in at the wrong time."""
    return [
        a.Start(**at, work_piece="T-2"),
        a.MeetPrerequisite(**at, key="person:checker", value=job.performer),
        a.MeetPrerequisite(**at, key="condition:support", value="raised"),
        a.CountIn(**at, tool="socket"),
        a.CountOut(**at, tool="socket"),
        a.CloseOut(**at, line=0, text=""),
        a.CloseOut(**at, line=1, text=""),
        a.MakeSafe(**at, line=0),
    ]


def _clock(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """The clock is told what it did not ask."""
    return [a.LetTimePass(**at, says=dice.pick(("passed", "not yet")))]


def _away(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Going on without comparing, comparing what is not asked."""
    return [a.Resume(**at)] * (job.paused) + [a.Reconfirm(**at, key="step:nothing")]


def _notice(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """Another notice than the one shown."""
    return [a.Acknowledge(**at, notice=wanted.index + 1), a.Note(**at, text=" "), a.ExtraWork(**at, text="")]


def _part(job: Job, wanted: Demand, dice: Dice, at: dict) -> list[a.Action]:
    """A new part that nobody asked for; an act where a new part is asked."""
    node = job.node
    items = [act.item for act in node.acts] if node else []
    return [a.ConfirmPart(**at, item=item) for item in items[:1]]


_TRIES = (
    _act, _act, _act, _tighten, _tighten, _tighten, _read, _read, _answer, _release, _release, _second, _second, _seal,
    _abandon, _owed, _owed, _put_off, _deviate, _deviate, _correct, _not_applicable, _reopen, _found, _people,
    _begin, _clock, _away, _notice, _part, _wrench, _wrench,
)  # fmt: skip

_NEAR = {
    "tighten": (_tighten, _tighten, _wrench),
    "prepare": (_wrench, *_TRIES),
    "hold": (_release,),
    "second reading": (_second,),
    "reading": (_read, _deviate),
    "handover": (_people,),
    "due": (_owed, _act, _put_off),
    "cue": (_owed, _act),
    "acknowledge": (_act, _notice, _answer, _read),
    "stop": (_deviate, _answer),
    "wait": (_read, _answer, _act, _release),
    "blocked": (_act, _tighten, _deviate, _wrench),
    "seal": (_seal, _abandon),
    "question": (_put_off, _act, _release),
    "look": (_put_off, _act, _release),
    "confirm": (_put_off, _answer, _read),
}
"""What is near at hand where a thing is asked."""
