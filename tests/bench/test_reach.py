"""Every action that exists can be made with the keyboard, and carries exactly what was typed."""

from dataclasses import replace
from typing import Any

import pytest

from runner.bench.engine import BenchRun
from runner.job import actions as a
from runner.job.demand import Option
from runner.joint.wrench import Extension
from runner.view import View
from tests.bench.hands import Hands
from tests.bench.samples import (
    DEMANDS,
    FITTED,
    GAUGED,
    IN_POUNDS,
    LAPSED,
    NOW,
    OWED,
    SHOP,
    STAR,
    TIGHTEN,
    SampleRun,
    sample,
    view_of,
)

ME = {"who": "Ada Lind", "stamp": NOW, "seen": 41}
BO = {**ME, "who": "Bo Marsh"}
EXTRA = replace(OWED[0], key="extra 1", what="undertray clip broken", where="")
FIRST_REASON = "part not here yet"
HELD = TIGHTEN.but(tool="torque wrench TW 0051")


def keys(text: str) -> list[str]:
    """`hello|` is letters and Enter; `<f2>` is a key by its name."""
    pressed: list[str] = []
    for part in text.replace(">", "<").split("<"):
        if part in {"f2", "f3", "f4", "f5", "f7", "f8", "f9", "f12", "tab", "down", "up", "ctrl+u"}:
            pressed.append(part)
        else:
            pressed += [{"|": "enter", " ": "space"}.get(char, char) for char in part]
    return pressed


CASES: list[tuple[View, str, a.Action]] = [
    (sample("start"), "<ctrl+u>Ada Lind|KX-204-T|81234|",
     a.Start(**ME, work_piece="KX-204-T", counters=(("odometer", "81234"),))),
    (sample("prepare"), "TW-3|", a.CountIn(**ME, tool="torque wrench", identity="TW-3")),
    (sample("prepare"), "<down>|", a.CountIn(**ME, tool="18 mm socket")),
    (sample("prepare"), "<down><down>|", a.MeetPrerequisite(**ME, key="part:pinch bolt")),
    (sample("prepare"), "<down><down><down>Bo Marsh|",
     a.MeetPrerequisite(**ME, key="person:checker", value="Bo Marsh")),
    (sample("choose"), "2|", a.ChooseLocation(**ME, name="side", value="right")),
    (sample("acknowledge"), "|", a.Acknowledge(**ME, notice=0)),
    (sample("new part"), "L77|", a.ConfirmPart(**ME, item="pinch bolt@left", number="L77")),
    (sample("act"), "|", a.Do(**ME, act=1)),
    (sample("confirm"), "|", a.Do(**ME)),
    (sample("tighten"), "|", a.Tighten(**ME, item="pinch bolt@left", stage=1, member=1, method="click")),
    (sample("tighten"), "50,5|",
     a.Tighten(**ME, item="pinch bolt@left", stage=1, member=1, method="measured", raw="50,5")),
    (view_of(STAR), "|", a.Tighten(**ME, item="wheel bolts@left", stage=2, member=5, method="click")),
    (view_of(replace(TIGHTEN, methods=("snug",), unit="", big="snug")), "|",
     a.Tighten(**ME, item="pinch bolt@left", stage=1, member=1, method="snug")),
    (view_of(replace(TIGHTEN, methods=("measured", "by mark"), unit="°")), "|",
     a.Tighten(**ME, item="pinch bolt@left", stage=1, member=1, method="by mark")),
    (sample("reading"), "1.8 mm|", a.Read(**ME, name="gap", raw="1.8 mm")),
    (sample("second reading"), "Bo Marsh|1.9|", a.Read(**BO, name="gap", raw="1.9")),
    (sample("look"), "2|", a.Look(**ME, label="it rocks")),
    (sample("question"), "<down>|", a.Answer(**ME, label="whole")),
    (sample("hold"), "Bo Marsh|1||y", a.Release(**BO, released=True)),
    (sample("hold"), "Bo Marsh|2|the groove is missed|y",
     a.Release(**BO, released=False, said="the groove is missed")),
    (sample("cue"), "|", a.TakeUp(**ME, key="put off bush-angle@left")),
    (sample("cue"), "<f3>|later|y", a.PassBy(**ME, key="put off bush-angle@left", reason="later")),
    (view_of(replace(DEMANDS["due"], options=(Option("k1", "one"), Option("k2", "two")))), "2|",
     a.TakeUp(**ME, key="k2")),
    (sample("doubt"), "2|", a.LetTimePass(**ME, says="not yet")),
    (sample("doubt"), "1|", a.LetTimePass(**ME, says="passed")),
    (sample("resume"), "|", a.Resume(**ME)),
    (sample("reconfirm"), "1|", a.Reconfirm(**ME, key="condition:support")),
    (sample("reconfirm"), "2|", a.Reconfirm(**ME, key="condition:support", as_recorded=False)),
    (sample("handover"), "Bo Marsh|", a.AcceptHandover(**BO)),
    (sample("close out"), "|", a.CountOut(**ME, tool="torque wrench")),
    (sample("close out"), "<down><down>none|", a.CloseOut(**ME, line=1, text="none")),
    (sample("make safe"), "2|", a.MakeSafe(**ME, line=1)),
    (sample("seal"), "1|y", a.Seal(**ME, outcome="finished")),
    (view_of(replace(DEMANDS["seal"], options=(Option("abandoned", "abandoned"),))), "1|y",
     a.Seal(**ME, outcome="abandoned")),
    (view_of(replace(DEMANDS["seal"], options=(Option("finished with open points", "so"),))), "1|y",
     a.Seal(**ME, outcome="finished with open points")),
    (sample("act"), "<f2>a remark|", a.Note(**ME, text="a remark")),
    (sample("act"), "<f3>1|y", a.PutOff(**ME, reason=FIRST_REASON)),
    (sample("act"), "<f3>3|the lamp is out|y", a.PutOff(**ME, reason="the lamp is out")),
    (sample("act"), "<f4>1|1|Cy|y", a.Deviate(**ME, kind="not done", reason=FIRST_REASON, authority="Cy")),
    (sample("prepare"), "<f4>1|2|SW-9|1|Cy|y",
     a.Deviate(**ME, kind="substitute", subject="tool:18 mm socket", raw="SW-9", reason=FIRST_REASON, authority="Cy")),
    (view_of(STAR), "<f4>4|3|1|Cy|y",
     a.Deviate(**ME, kind="different order", subject="4", reason=FIRST_REASON, authority="Cy")),
    (sample("hold"), "<f4>1|1|Cy|y", a.Deviate(**ME, kind="hold point", reason=FIRST_REASON, authority="Cy")),
    (sample("stop"), "<f4>1|1|Cy|y", a.Deviate(**ME, kind="go on", reason=FIRST_REASON, authority="Cy")),
    (sample("act"), "<f5>too soon|y", a.TakeBack(**ME, reason="too soon")),
    (sample("act"), "<f7>1|1|1|y", a.FoundCondition(**ME, name="support", value="on wheels")),
    (sample("act"), "<f7>2|1|1|dropped|y",
     a.Reopen(**ME, item="pinch bolt@left", state="loosened", reason="dropped")),
    (sample("act"), "<f7>3|clip broken|", a.ExtraWork(**ME, text="clip broken")),
    (sample("act", owed=(EXTRA,)), "<f7>4|1|glued|y", a.ExtraWorkDone(**ME, key="extra 1", said="glued")),
    (sample("act"), "<f7>5|1|no such step|y", a.NotApplicable(**ME, subject="", reason="no such step")),
    (sample("act"), "<f7>6|1|51|misread|y",
     a.Correct(**ME, key="tighten pinch bolt@left|1|1", raw="51", reason="misread")),
    (sample("act"), "<f7>7|1|TW-9|2|",
     a.ChangeTool(**ME, tool="torque wrench", identity="TW-9", reason="battery flat")),
    (sample("tighten"), "<f12>TW-9|4|jaw slips|",
     a.ChangeTool(**ME, tool="torque wrench", identity="TW-9", reason="jaw slips")),
    (view_of(HELD, **SHOP), "<f12>1|2|1|",
     a.ChangeTool(**ME, tool="torque wrench", identity="", reason="mine stops there", wrench=GAUGED)),
    (view_of(HELD, **SHOP), "<f12>1|3|1|Cy|y",
     a.Deviate(**ME, kind="unfit tool", reason="no fitting one here", authority="Cy", subject="tool:torque wrench",
               wrench=LAPSED)),
    (view_of(HELD, **SHOP), "<f12>1|4|TW-9|3|",
     a.ChangeTool(**ME, tool="torque wrench", identity="TW-9", reason="dropped it")),
    (view_of(HELD, **SHOP), "<f12>2|2 in||",
     a.FitExtension(**ME, tool="torque wrench", extension=Extension(length="50.8"))),
    (view_of(HELD, **SHOP), "<f7>8|50|<ctrl+u>90|",
     a.FitExtension(**ME, tool="torque wrench", extension=Extension(length="50", angle="90"))),
    (view_of(HELD, **FITTED), "<f12>3|", a.FitExtension(**ME, tool="torque wrench")),
    (view_of(HELD, **FITTED), "<f7>8|1|", a.FitExtension(**ME, tool="torque wrench")),
    (sample("prepare", **SHOP), "||", a.CountIn(**ME, tool="torque wrench", wrench=IN_POUNDS)),
    (sample("prepare", **SHOP), "|2|", a.CountIn(**ME, tool="torque wrench", wrench=GAUGED)),
    (sample("prepare", **SHOP), "0060|", a.CountIn(**ME, tool="torque wrench", wrench=GAUGED)),
    (sample("prepare", **SHOP), "TW-3|", a.CountIn(**ME, tool="torque wrench", identity="TW-3")),
    (sample("prepare", **SHOP), "|4|TW-3|", a.CountIn(**ME, tool="torque wrench", identity="TW-3")),
    (sample("prepare", **SHOP), "|3|5|lent out|Cy|y",
     a.Deviate(**ME, kind="unfit tool", reason="lent out", authority="Cy", subject="tool:torque wrench",
               wrench=LAPSED)),
    (sample("prepare", **SHOP), "<f4>3|1|1|Cy|y",
     a.Deviate(**ME, kind="unfit tool", reason=FIRST_REASON, authority="Cy", subject="tool:torque wrench",
               wrench=LAPSED)),
    (view_of(DEMANDS["blocked"].but(tool="TW 0051"), **SHOP), "<f4>3|1|1|Cy|y",
     a.Deviate(**ME, kind="unfit tool", reason=FIRST_REASON, authority="Cy")),
    (view_of(DEMANDS["blocked"].but(tool="TW 0051"), **SHOP), "<f12>1||2|",
     a.ChangeTool(**ME, tool="torque wrench", identity="", reason="battery flat", wrench=GAUGED)),
    (sample("act"), "<f8>1|bolt 3 next|", a.Pause(**ME, note="bolt 3 next")),
    (sample("act"), "<f8>2|Bo Marsh|all calm|y", a.HandOver(**ME, to="Bo Marsh", note="all calm")),
    (sample("act"), "<f8>3|Bo Marsh|Ada went home|y", a.TakeOverAlone(**BO, reason="Ada went home")),
    (sample("act"), "<f8>4|rusted through|y", a.Seal(**ME, outcome="abandoned", reason="rusted through")),
    (sample("act", owed=(replace(OWED[0], ready=True),)), "<tab>8|1|", a.TakeUp(**ME, key="put off bush-angle@left")),
]  # fmt: skip


@pytest.mark.parametrize(
    ("view", "pressed", "wanted"), CASES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_keys_make_exactly_this_action(view: View, pressed: str, wanted: a.Action) -> None:
    run = SampleRun([view])
    hands = Hands(run)
    hands.press(*keys(pressed))
    assert run.done == [wanted], hands.screen()


def test_every_action_there_is_can_be_reached() -> None:
    actions = {kind for kind in vars(a).values() if isinstance(kind, type) and issubclass(kind, a.Action)} - {
        a.Action
    }
    assert actions == {type(wanted) for _, _, wanted in CASES}


@pytest.mark.parametrize(("function_key", "label"), [
    ("f1", "Why:"), ("f2", "Note:"), ("f3", "Put off:"), ("f4", "Deviate:"), ("f5", "Take back:"), ("f6", "Look:"),
    ("f7", "extra work:"), ("f8", "hand over"), ("f10", "Quit:"), ("f12", "Wrench:"),
])  # fmt: skip
def test_everything_on_a_function_key_is_also_in_the_list_under_tab(function_key: str, label: str) -> None:
    hands = Hands(SampleRun([sample("act")]))
    hands.press("tab")
    form = hands.desk.scene.form
    assert form is not None
    assert form.current is not None
    assert any(option.label.startswith(label) for option in form.current.options)


def test_the_first_value_is_shown_nowhere_to_the_second_person() -> None:
    hidden = sample("second reading", recorded=(("read 1", "gap: given, not shown"),))
    hands: Any = Hands(SampleRun([hidden]))
    screens = [hands.screen(160, 50)]
    for key in ("f1", "f6"):
        hands.press(key)
        screens.append(hands.screen(160, 50))
        hands.press("escape")
    assert all("1.7" not in screen for screen in screens)


def test_the_sample_run_is_what_the_bench_needs() -> None:
    run: BenchRun = SampleRun([sample("act")])
    assert run.summary()
