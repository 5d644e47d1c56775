"""What the gate asks next, as one record that screens draw and `decide` checks actions against."""

from typing import Literal

from runner.frozen import Frozen
from runner.joint.sourced import Working

DemandKind = Literal[
    "start", "choose", "prepare", "acknowledge", "blocked", "new part", "act", "confirm", "tighten", "wait",
    "reading", "second reading", "worked out", "question", "look", "hold", "cue", "due", "restore", "doubt",
    "resume", "reconfirm", "handover", "stop", "close out", "make safe", "seal", "sealed", "outside proof",
]  # fmt: skip


class Option(Frozen):
    """Something to pick: `key` goes into the action, `label` is what a person reads."""

    key: str
    label: str


class Demand(Frozen):
    """The one thing asked now.

    kind        what answers it:
      start          Start                      choose        ChooseLocation(subject, one of options)
      prepare        options are the prerequisites not yet met: keys `tool:…` CountIn, others MeetPrerequisite
      acknowledge    Acknowledge(index)         blocked       nothing: `lift` says what would lift it
      new part       ConfirmPart(subject)       act           Do(act=index)     confirm   Do()
      tighten        Tighten(subject, stage, member, one of methods)
      wait           time; `until_ms` is how long still (milliseconds)
      reading, second reading   Read(subject)   worked out    out of band: Correct an input, or Deviate
      question       Answer(one of options)     look          Look(one of options)
      hold           Release by `role`          cue, due      TakeUp or PassBy (cue only), options are owed keys
      restore        a found condition that no detour restores
      doubt          LetTimePass(says=…)        resume        Resume      reconfirm  Reconfirm(each of options)
      handover       AcceptHandover by `role`   stop          see `lift`
      close out      options: `tool:…` CountOut, `line:N` CloseOut(N)    make safe  options `line:N` MakeSafe(N)
      seal           Seal; options are the outcomes allowed     sealed, outside proof   nothing
    prompt      one sentence for the person
    lift        where the way is shut: what would lift it, or whom to fetch
    big         the value to set or meet, as large as the screen can show it ("50 N·m")
    band        the interval beside the field, in words
    about       what else is known of it: thread and class, which fastener is number one
    specified   the torque that the procedure asks, where a wrench of the toolbox is in hand: `big` and `unit` are then
                what is set or read on that wrench
    correction  what stands between wrench and fastener, in words; warning: what speaks against the setting
    working     how the setting was worked out
    order       of a group: how its round goes (star, around …), whose sources are shown
    rows        the fasteners in each row, of a group that stands in rows; circle: it stands round a circle
    """

    kind: DemandKind
    prompt: str
    lift: str = ""
    subject: str = ""
    index: int = 0
    options: tuple[Option, ...] = ()
    big: str = ""
    band: str = ""
    unit: str = ""
    tool: str = ""
    methods: tuple[str, ...] = ()
    stage: int = 0
    stages: int = 0
    member: int = 0
    sequence: tuple[int, ...] = ()
    members_done: tuple[int, ...] = ()
    time_index: int = 1
    times: int = 1
    role: str = ""
    until_ms: int = 0
    critical: bool = False
    about: str = ""
    specified: str = ""
    correction: str = ""
    warning: str = ""
    working: Working | None = None
    order: str = ""
    rows: tuple[int, ...] = ()
    circle: bool = False
