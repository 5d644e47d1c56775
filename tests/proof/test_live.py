"""The proof asked live: before an act leaves the plan it answers from where that act would lead.

Worked by hand on one small job: a lead, a wedge and bolts that get their angle at ride height only.
"""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest

from runner.job import actions as a
from runner.job import events as e
from runner.job.gates import Gates
from runner.log.scan import Scanner
from runner.outlook import answer_lines
from runner.proof import live
from runner.proof.live import ahead
from runner.proof.prove import prove
from runner.replaying import replay
from runner.run import Run
from tests.doubles import SetOutside
from tests.job.bench_hand import Hand
from tests.procedure.procedure_text import linked

CAR = """\
conditions:
  support:
    at start: on wheels
    changes:
      on wheels: [raised]
      raised: [at ride height, on wheels]
      at ride height: [raised, on wheels]
items:
  bolts:
    kind: fastener
    tighten: [{torque: 70 N·m}, {angle: 90°, only when: {support: at ride height}}]
  lead: {kind: connection}
  wedge: {kind: aid}
  cap: {kind: cover}
tolerance: {torque: ±4 %, angle: ±5°}
steps:
  - {step: up, do: Raise it., danger: {hazard: It falls, consequence: harm, avoid: Wait}, sets: {support: raised}}
  - {step: unplug, do: Unplug the lead., disconnects: [lead]}
  - {step: cap-off, do: Take the cap off., takes off: [cap]}
  - {step: cap-on, do: Put the cap back., puts back: [cap]}
  - {step: wedge-in, do: Put the wedge in., puts in: [wedge]}
  - {step: loosen, do: Loosen the bolts., loosens: [bolts]}
  - {step: start, do: Start the bolts., starts: [bolts]}
  - {step: torque, do: Tighten the bolts., tightens: {bolts: stage 1}}
  - step: angle
    do: Turn the bolts.
    tightens: {bolts: the rest}
    put off: {until: {support: at ride height}, before: check, because: the rubber}
  - {step: measure, do: Measure., needs: {support: raised}, read: [{what: Gap, name: gap, unit: mm, band: 1 to 2 mm}]}
  - {step: wedge-out, do: Take the wedge out., takes out: [wedge]}
  - {step: height, do: Bring it to ride height., sets: {support: at ride height}}
  - {step: plug, do: Plug the lead in., connects: [lead]}
  - {step: down, do: Let it down., sets: {support: on wheels}}
  - {step: check, do: Look over everything., look for: Is it whole?, answers: {it is: go on, no: stop}}
"""


NEEDS_CAP = CAR.replace(
    "  - {step: down,", "  - {step: level, do: Level it., needs: {cap: on}}\n  - {step: down,"
)

BACK = """\
items: {lead: {kind: connection}, cap: {kind: cover}}
steps:
  - {step: off, do: Take the cap off., takes off: [cap]}
  - step: open
    do: Unplug the lead.
    disconnects: [lead]
    read: [{what: Dirt, name: dirt, unit: mm, band: 0 to 9 mm}]
  - {step: close, do: Plug the lead in., connects: [lead]}
  - step: sure
    ask: It is
    answers: {right: go on, wrong: [{step: wipe, do: Wipe it.}, {again: open, at most: 2, then: go on}]}
  - {step: shut, do: Put the cap back., puts back: [cap]}
"""


def hand_at(step: str, text: str = CAR) -> Hand:
    """A proved job, answered the plain way up to a step."""
    procedure = linked(text)
    verdict = prove(procedure)
    assert verdict.proved, [finding.text() for finding in verdict.findings]
    hand = Hand(procedure, gates=verdict.gates, ask=ahead)
    hand.values.update(gap="1.5", play="1.5", dirt="1")
    hand.go(step)
    return hand


def answer(hand: Hand) -> e.Reproved:
    """What the proof answered to the latest act."""
    said = hand.entries[-1].events[-1]
    assert isinstance(said, e.Reproved), hand.kinds()
    return said


def test_a_put_off_is_allowed_and_says_until_where():
    hand = hand_at("unplug")
    hand.do(a.PutOff, reason="the clip is stiff")
    said = answer(hand)
    assert dict(said.until)["unplug"] == 'before "Plug the lead in"'
    assert said.lost == ()
    (line,) = hand.view.owed
    assert (line.what, line.before) == ("Unplug the lead.", '"Plug the lead in"')


def test_a_put_off_with_no_way_left_is_refused_in_words_and_changes_nothing():
    """Once it is at ride height nothing raises it again: what needs it raised must not wait until then and longer."""
    hand = hand_at("measure")
    hand.do(a.PutOff, reason="no gauge here")
    assert dict(answer(hand).until)["measure"] == 'before "Bring it to ride height"'
    lame = hand_at("cap-on", NEEDS_CAP)
    lame.do(a.Deviate, kind="not done", reason="the cap broke", authority="Chief")
    lame.go("blocked")
    lame.refuse(a.PutOff, reason="no cap here", why="no way left: ", lift="do it now, or deviate")
    assert "level" not in lame.owed()
    assert isinstance(lame.entries[-1].events[0], e.Refused)


def test_what_was_lost_before_does_not_forbid_another_put_off():
    hand = hand_at("cap-on")
    hand.do(a.Deviate, kind="not done", reason="the cap broke", authority="Chief")
    assert dict(answer(hand).lost)["cap"] == "cap is still off at the end: nobody puts it back"
    hand.do(a.PutOff, reason="the wedge is elsewhere")
    assert "wedge-in" in hand.owed()


def test_a_deviation_not_done_leaves_a_line_until_the_item_is_closed_all_the_same():
    hand = hand_at("cap-on")
    hand.do(a.Deviate, kind="not done", reason="the cap broke", authority="Chief")
    assert hand.view.lost == ("cap is still off at the end: nobody puts it back",)
    hand.go("plug")
    assert hand.view.lost, "it stands whatever is done meanwhile"
    hand.do(a.Deviate, kind="not done", reason="no plug", authority="Chief")
    assert set(dict(answer(hand).lost)) == {"cap", "lead"}
    hand.do(a.TakeBack)
    assert hand.view.lost == ("cap is still off at the end: nobody puts it back",)


def test_what_is_closed_since_is_no_longer_lost():
    """A lead left open is said to be lost; owed again by a reopening and made good, it is lost no more."""
    hand = hand_at("plug")
    hand.do(a.Do, act=0)
    hand.do(a.Reopen, item="lead", state="disconnected", reason="it came off")
    assert answer(hand).lost == ()
    key = next(iter(hand.job.owed))
    hand.job = hand.job.but(lost=(("lead", "lead is still disconnected at the end"), ("cap", "other")))
    hand.do(a.TakeUp, key=key)
    hand.do(a.Do, act=0)
    assert hand.job.lost == (("cap", "other"),)


def test_a_reopening_owes_its_steps_with_until_where():
    hand = hand_at("wedge-in")
    hand.do(a.Reopen, item="cap", state="off", reason="it was loose")
    said = answer(hand)
    (key,) = (key for key in hand.owed() if key.startswith("again"))
    assert dict(said.until)[key] == "before the end"
    assert said.lost == ()
    assert any(line.startswith("cap: ") for line in said.closes)
    hand.go("sealed")
    assert hand.state("cap") == "on"


def test_a_reopened_item_is_owed_before_the_step_that_needs_it():
    text = CAR.replace("{step: down, do: Let it down., ", "{step: down, do: Let it down., needs: {cap: on}, ")
    hand = hand_at("wedge-in", text)
    hand.do(a.Reopen, item="cap", state="off", reason="it was loose")
    assert set(dict(answer(hand).until).values()) == {'before "Let it down"'}


def test_what_is_not_applicable_drops_its_acts():
    hand = hand_at("unplug")
    hand.do(a.NotApplicable, subject="cap", reason="this one has none")
    said = answer(hand)
    assert said.lost == ()
    assert {"cap-off", "cap-on"}.isdisjoint(said.allowed)
    hand.go("sealed")
    assert hand.job.outcome == "finished"


def test_a_step_that_is_not_applicable_is_passed():
    text = CAR.replace("  - {step: wedge-out", "  - {step: brush, do: Brush it.}\n  - {step: wedge-out")
    hand = hand_at("brush", text)
    hand.do(a.NotApplicable, subject="", reason="it is clean")
    assert "brush" not in answer(hand).allowed
    hand.go("sealed")


def test_a_correction_that_does_not_stand_is_owed_and_can_be_missed():
    """Measuring needs it raised: corrected later, at ride height, nothing raises it again."""
    hand = hand_at("wedge-out")
    hand.do(a.Correct, key="read measure|gap|1", raw="3", reason="misread")
    assert dict(answer(hand).until)["correction read measure|gap|1"] == 'before "Bring it to ride height"'
    assert answer(hand).lost == ()
    late = hand_at("plug")
    late.do(a.Correct, key="read measure|gap|1", raw="3", reason="misread")
    assert "correction read measure|gap|1" in dict(answer(late).lost)
    assert late.view.lost == (
        '"measure" waits until support is raised and is due before the end, but that can be missed',
    )
    good = hand_at("wedge-out")
    good.do(a.Correct, key="read measure|gap|1", raw="1.6", reason="misread")
    assert answer(good).lost == ()


def test_in_the_middle_of_a_step_the_rest_of_it_still_counts():
    text = CAR.replace(
        "  - {step: unplug, do: Unplug the lead., disconnects: [lead]}\n",
        "  - {step: unplug, do: Unplug it., disconnects: [lead], takes off: [cap]}\n",
    ).replace("  - {step: cap-off, do: Take the cap off., takes off: [cap]}\n", "")
    hand = hand_at("unplug", text)
    hand.do(a.Do, act=0)
    hand.expect("act", "unplug", subject="cap")
    hand.do(a.NotApplicable, subject="wedge", reason="not needed here")
    said = answer(hand)
    assert said.lost == (), "the lead is off already, and nothing takes it off twice"
    assert "unplug" not in said.allowed, "its gate was entered already"
    hand.go("sealed")


def test_a_window_that_waits_for_the_step_in_hand_opens_when_that_is_done():
    """Found by a random run: what is left of the step in hand is that step itself."""
    text = CAR.replace("until: {support: at ride height}", "until: {step: measure}").replace(
        ", only when: {support: at ride height}", ""
    )
    two = "[{what: Gap, name: gap, unit: mm, band: 1 to 2 mm}, {what: Play, name: play, unit: mm, band: 1 to 2 mm}]"
    text = text.replace("[{what: Gap, name: gap, unit: mm, band: 1 to 2 mm}]", two)
    hand = hand_at("measure", text)
    hand.do(a.Do)
    hand.do(a.Read, name="gap", raw="1.5")
    hand.do(a.Reopen, item="cap", state="off", reason="it was loose")
    assert answer(hand).lost == ()
    hand.go("sealed")


def test_a_way_back_to_the_step_in_hand_begins_it_anew():
    """Its next pass has all its acts again, and stands among the states allowed at its name."""
    hand = hand_at("open", BACK)
    hand.do(a.Do, act=0)
    hand.do(a.Deviate, kind="not done", reason="no brush", authority="Chief")
    assert answer(hand).lost == ()
    assert dict(hand.job.gates.allowed_at(hand.procedure, "open"))["lead"] == ("connected",)
    hand.answers["sure"] = "wrong"
    hand.go("open")
    hand.answers["sure"] = "right"
    hand.go("sealed")
    assert hand.state("lead") == "connected"


def test_with_something_owed_in_hand_its_rest_still_counts():
    hand = hand_at("cap-on")
    hand.do(a.PutOff, reason="later")
    hand.do(a.TakeUp, key="cap-on")
    hand.do(a.Deviate, kind="not done", reason="it broke", authority="Chief")
    assert dict(answer(hand).lost) == {"cap": "cap is still off at the end: nobody puts it back"}
    half = hand_at("open", BACK.replace("disconnects: [lead]", "needs: {cap: off}\n    disconnects: [lead]"))
    half.do(a.PutOff, reason="later")
    half.do(a.TakeUp, key="open")
    half.do(a.Do, act=0)
    half.do(a.Deviate, kind="not done", reason="no gauge", authority="Chief")
    assert answer(half).lost == (), "the lead is off already, and nothing takes it off twice"
    half.go("sealed")


def test_after_take_back_the_old_gates_are_back():
    hand = hand_at("unplug")
    before = hand.job
    hand.do(a.PutOff, reason="stiff")
    assert hand.job.gates != before.gates
    hand.do(a.TakeBack)
    assert (hand.job.gates, hand.job.until, hand.job.lost) == (before.gates, before.until, before.lost)


def test_the_last_chance_is_said_with_its_reason():
    hand = hand_at("plug")
    assert hand.job.owed == {}
    hand = hand_at("cue")
    hand.do(a.PassBy, key="angle")
    assert hand.view.owed[0].last_chance == '"Let it down"'
    assert hand.view.owed[0].until == 'last chance before "Let it down"; before Look over everything.'
    hand.do(a.Do, act=0)
    hand.expect("due", subject="angle", prompt='Last chance, before "Let it down": Turn the bolts.',
                lift="after this step its window does not open again before it is due")  # fmt: skip


def test_the_lines_for_people_name_what_is_lost_first():
    hand = hand_at("cap-on")
    before = hand.job
    hand.do(a.Deviate, kind="not done", reason="it broke", authority="Chief")
    lines = answer_lines(hand.entries[-1], before, hand.job)
    assert (lines[0].kind, lines[0].text) == (
        "lost",
        "NO WAY LEFT: cap is still off at the end: nobody puts it back",
    )
    assert not [line for line in lines if line.kind == "holds"]


@pytest.mark.parametrize("proved", [True, False])
def test_a_run_asks_the_proof_where_it_was_proved_and_after_a_resume(tmp_path: Path, proved: bool):
    procedure = linked(CAR)
    gates = prove(procedure).gates if proved else Gates()
    outside = SetOutside()
    run = Run.begin(procedure, outside, tmp_path, gates=gates, unproved="" if proved else "a trial")

    def act(kind: type[a.Action], **words: object) -> None:
        refusal = run.act(kind(who="Ann", stamp=run.stamp(), **words))  # type: ignore[arg-type]
        assert refusal is None, refusal

    act(a.Start, work_piece="T-1")
    act(a.MeetPrerequisite, key="person:checker", value="Bo")
    act(a.MeetPrerequisite, key="condition:support", value="on wheels")
    act(a.Acknowledge, notice=0)
    act(a.Do)
    asked = a.PutOff(who="Ann", stamp=run.stamp(), reason="asked")
    foreseen = [line.text for line in run.foresee(asked)]
    assert run.job.owed == {}, "asking records nothing"
    assert foreseen[0] == (
        'It may still be put off, and is done before "Plug the lead in".'
        if proved
        else "It can be put off. This run is not proved: nothing tells until where it can still be done."
    )
    act(a.PutOff, reason="stiff")
    assert ("unplug" in dict(run.job.until)) is proved
    assert run.path is not None
    run.close()
    before = run.job
    run = Run.resume(run.path, outside)
    assert (run.job.gates, run.job.until, run.job.lost) == (before.gates, before.until, before.lost)
    act(a.Resume)
    while run.job.to_confirm:
        act(a.Reconfirm, key=run.job.to_confirm[0], as_recorded=True)
    act(a.PutOff, reason="no puller")
    assert ("cap-off" in dict(run.job.until)) is proved
    run.close()
    assert run.path is not None
    scanner = Scanner(BytesIO(run.path.read_bytes()))
    records = tuple(scanner)
    assert replay(replace(scanner.report, records=records)).gates == run.job.gates


def test_what_cannot_be_decided_is_said_and_nothing_is_held_against_it(monkeypatch: pytest.MonkeyPatch):
    hand = hand_at("cap-on")
    before = hand.job
    monkeypatch.setattr(live, "budget_of", lambda procedure: 1)
    hand.do(a.Deviate, kind="not done", reason="it broke", authority="Chief")
    said = answer(hand)
    assert (said.allowed, said.last_chance) == ({}, before.gates.last_chance)
    assert said.lost == (
        ("", "it cannot be decided here what still closes everything: too much hangs together"),
    )
    assert hand.view.lost == ()
    lines = answer_lines(hand.entries[-1], before, hand.job)
    assert [line.kind for line in lines if line.kind in ("lost", "unsure")] == ["unsure"]
    hand.do(a.PutOff, reason="what cannot be decided forbids nothing")


def test_what_a_reopening_owes_is_taken_up_in_order_of_work():
    """Nothing is lost by a step that could be taken up too soon: the engine lets it be put down again."""
    hand = hand_at("plug")
    assert hand.state("bolts") == "stage 2"
    hand.do(a.Reopen, item="bolts", state="loosened", reason="it squeaks")
    said = answer(hand)
    assert said.lost == ()
    owed = [key for key in hand.owed() if key.startswith("again")]
    assert len(owed) == 3
    assert {words for key, words in said.until if key in owed} == {'before "Let it down"', "before the end"}
    hand.go("sealed")
    assert (hand.state("bolts"), hand.job.outcome) == ("stage 2", "finished")


def test_a_reopening_whose_last_stage_has_no_window_left_is_lost():
    hand = hand_at("check")
    hand.do(a.Reopen, item="bolts", state="loosened", reason="it squeaks")
    assert set(dict(answer(hand).lost)) >= {"again angle bolts"}
    assert any("bolts" in words for words in hand.view.lost)


def test_a_stage_put_off_before_another_that_is_put_off_is_done_before_it():
    hand = hand_at("torque", CAR.replace("{bolts: the rest}", "{bolts: stage 2}"))
    hand.do(a.PutOff, reason="the wrench is away")
    said = answer(hand)
    assert said.lost == ()
    assert set(hand.owed()) == {"torque", "angle"}
    hand.do(a.TakeUp, key="torque")
    hand.go("sealed")
    assert hand.state("bolts") == "stage 2"


LEVELLING = """\
procedure: levelling
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [at ride height, on wheels], at ride height: [raised, on wheels]}
ends with: {support: at ride height}
steps:
  - {step: lift, do: Raise it once more., sets: {support: raised}}
  - step: measure
    do: Measure.
    read: [{what: Height, name: height, unit: mm, band: 380 to 390 mm}]
  - {step: let-down, do: Let it down on the jacks., sets: {support: at ride height}}
  - {step: rock, do: Rock it., look for: Does it stand?, answers: {it does: go on, no: stop}}
"""
ON_A_DETOUR = """\
conditions:
  support:
    at start: on wheels
    changes: {on wheels: [raised], raised: [at ride height, on wheels], at ride height: [raised, on wheels]}
    getting there: {at ride height: levelling.yaml}
items:
  bolts:
    kind: fastener
    tighten: [{torque: 70 N·m}, {angle: 90°, only when: {support: at ride height}}]
tolerance: {torque: ±4 %, angle: ±5°}
steps:
  - {step: up, do: Raise it., sets: {support: raised}}
  - {step: loosen, do: Loosen the bolts., loosens: [bolts]}
  - {step: start, do: Start the bolts., starts: [bolts]}
  - {step: torque, do: Tighten the bolts., tightens: {bolts: stage 1}}
  - step: angle
    do: Turn the bolts.
    tightens: {bolts: the rest}
    put off: {until: {support: at ride height}, before: down, because: the rubber}
  - {step: height, do: Bring it to ride height., sets: {support: at ride height}}
  - {step: wipe, do: Wipe it.}
  - {step: check, do: Look over everything.}
  - {step: down, do: Let it down., sets: {support: on wheels}}
  - {step: last, do: Tidy up.}
"""


@pytest.fixture
def off_height() -> Hand:
    """A proved job with the angle due at ride height, where the car is found on its wheels and is raised again."""
    procedure = linked(ON_A_DETOUR, levelling=LEVELLING)
    verdict = prove(procedure)
    assert verdict.proved, [finding.text() for finding in verdict.findings]
    hand = Hand(procedure, gates=verdict.gates, ask=ahead)
    hand.go("cue")
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.do(a.Do)
    hand.do(a.Do)
    hand.expect("reading", "detour:support=at ride height/levelling/measure")
    return hand


def test_on_a_detour_the_proof_goes_on_from_the_detour_and_then_from_where_it_leads_back_to(off_height: Hand):
    """A deviation on the way back to ride height: what waits for ride height is closed there all the same."""
    hand = off_height
    hand.do(a.Deviate, kind="out of band", reason="soft springs", raw="395")
    assert hand.job.detour.endswith("/let-down"), "the way back goes on"
    said = answer(hand)
    assert said.lost == ()
    assert said.until == (("angle", 'before "Let it down"'),)
    hand.do(a.Do)
    hand.do(a.Do)
    hand.do(a.Look, label="it does")
    assert not hand.job.detour
    hand.do(a.TakeUp, key="angle")
    hand.go("sealed")
    assert not hand.happened(e.LeftProof)
    assert hand.job.is_final("bolts")


def test_an_answer_of_a_detour_that_is_over_is_not_asked_again_on_the_main_line(off_height: Hand):
    hand = off_height
    hand.do(a.Read, name="height", raw="385")
    hand.do(a.Do)
    hand.do(a.Do)
    rocking = hand.job.detour
    hand.do(a.Look, label="it does")
    assert (hand.job.detour, hand.job.at) == ("", "wipe")
    hand.refuse(
        a.Correct, key=f"answer {rocking}", raw="", reason="misread", lift="bring back first",
        why="the work has gone on from that answer",
    )  # fmt: skip
    assert hand.job.at == "wipe"


ROUND_AGAIN = (
    ON_A_DETOUR[: ON_A_DETOUR.index("items:")]
    + """\
items: {lead: {kind: connection}}
steps:
  - {step: up, do: Raise it., sets: {support: raised}}
  - {step: height, do: Bring it to ride height., sets: {support: at ride height}}
"""
    + BACK[BACK.index("  - step: open") : BACK.index("  - {step: shut")]
    + """\
  - {step: down, do: Let it down., sets: {support: on wheels}}
"""
)


def test_a_detour_leads_back_to_the_step_as_it_is_in_hand_though_a_way_back_leads_there_too():
    """The lead is unplugged and its dirt not yet read: after the detour only that is left of the step."""
    procedure = linked(ROUND_AGAIN, levelling=LEVELLING)
    verdict = prove(procedure)
    assert verdict.proved, [finding.text() for finding in verdict.findings]
    hand = Hand(procedure, gates=verdict.gates, ask=ahead)
    hand.values.update(dirt="1")
    hand.go("open")
    hand.do(a.Do, act=0)
    hand.do(a.FoundCondition, name="support", value="on wheels")
    hand.go("reading")
    hand.do(a.Deviate, kind="out of band", reason="soft springs", raw="395")
    assert hand.job.detour
    assert answer(hand).lost == ()
    hand.answers["sure"] = "wrong"
    hand.go("wipe")
    hand.go("open")
    hand.answers["sure"] = "right"
    hand.go("sealed")
    assert not hand.happened(e.LeftProof)
    assert hand.state("lead") == "connected"
