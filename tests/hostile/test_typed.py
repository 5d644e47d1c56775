"""What people type: values, names, reasons, notes. Refused with what was expected; nothing that steers is recorded."""

import json
from collections.abc import Callable

import pytest

from runner.job import actions as a
from runner.job.actions import Action
from runner.job.decide import decide
from runner.job.record import to_record
from runner.job.refusal import Refusal
from runner.job.state import Job, new_job
from runner.job.values import LONGEST_TEXT, parse
from runner.log import line
from runner.quantities import (
    QuantityError,
    parse_band,
    parse_duration,
    parse_entry,
    parse_number,
    parse_quantity,
)
from runner.stamp import Stamp
from tests.hostile.strings import HALVES, MARKS, MARKUP, REFUSED, TERMINAL, WORKS, raw_controls
from tests.procedure.procedure_text import linked

NOW = Stamp(1_780_000_000_000, 120, 5_000, "b")

NUMBERS = [
    "1e999", "-1e999", "1E5", "9" * 1_000_000, "0." + "0" * 1_000_000 + "1", "NaN", "nan", "sNaN", "inf", "-Infinity",
    "1/0", "0/0", "1 1/0", "0x10", "1_000", "1'000", "1,000.5", "1.2.3", "٣٤", "１２", "²", "½", "1\u200b2", "",
    " " * 1_000_000, "+" * 1_000_000, "1" + "/1" * 500_000, "(" * 100_000, "[" * 100_000, "0b1", "1e", "--1", "+-1",
]  # fmt: skip

READERS: dict[str, Callable[[str], object]] = {
    "number": parse_number,
    "quantity": parse_quantity,
    "torque": lambda text: parse_quantity(f"{text} N·m", "torque"),
    "entry": lambda text: parse_entry(text, "N·m"),
    "entry with a unit": lambda text: parse_entry(f"{text} lbf·ft", "N·m"),
    "duration": lambda text: parse_duration(f"{text} min"),
    "band": lambda text: parse_band(f"{text} to {text} N·m", "torque"),
    "tolerance": lambda text: parse_band(f"{text} N·m ±{text} %", "torque"),
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("number", NUMBERS, ids=lambda n: repr(n[:12]))
def test_no_number_out_of_all_proportion_is_read(reader: str, number: str) -> None:
    with pytest.raises(QuantityError) as caught:
        READERS[reader](number)
    assert len(str(caught.value)) < 400
    assert not raw_controls(str(caught.value))


@pytest.mark.parametrize("text", [*TERMINAL.values(), *MARKUP.values(), *REFUSED, *MARKS, *HALVES], ids=repr)
def test_no_other_text_is_a_value(text: str) -> None:
    for typed in (f"60{text}", f"60{text}5", f"60{text}N·m", f"60 N·m{text}"):
        refused = parse(typed, "N·m")
        assert isinstance(refused, Refusal), typed
        assert not raw_controls(refused.text + refused.lift)


def started() -> Job:
    job = new_job(linked("steps:\n  - step: look\n    do: Look round.\n"), rehearsal=True)
    entry = decide(job, a.Start("Ann", NOW, "piece")).entry
    assert entry is not None
    from runner.job.evolve import evolve

    return evolve(job, entry)


TYPED: dict[str, Callable[[str], Action]] = {
    "performer": lambda text: a.Start(text, NOW, "piece"),
    "work piece": lambda text: a.Start("Ann", NOW, text),
    "counter": lambda text: a.Start("Ann", NOW, "piece", counters=(("distance", text),)),
    "left behind": lambda text: a.Start("Ann", NOW, "piece", earlier=(text,)),
    "note": lambda text: a.Note("Ann", NOW, text),
    "who": lambda text: a.Note(text, NOW, "dry"),
    "reason": lambda text: a.PutOff("Ann", NOW, text),
    "prerequisite": lambda text: a.MeetPrerequisite("Ann", NOW, text, text),
    "tool": lambda text: a.CountIn("Ann", NOW, "x", text),
    "reading": lambda text: a.Read("Ann", NOW, "torque", text),
    "handover": lambda text: a.HandOver("Ann", NOW, text),
    "answer": lambda text: a.Answer("Ann", NOW, text),
}


@pytest.mark.parametrize("place", TYPED)
@pytest.mark.parametrize("character", [*REFUSED, *HALVES], ids=lambda c: f"U+{ord(c):04X}")
def test_a_character_that_steers_is_refused_and_recorded_written_out(place: str, character: str) -> None:
    action = TYPED[place](f"a{character}b")
    job = new_job(started().procedure, rehearsal=True) if isinstance(action, a.Start) else started()
    decision = decide(job, action)
    assert decision.refusal is not None
    assert f"U+{ord(character):04X}" in decision.refusal.text
    assert not raw_controls(decision.refusal.text + decision.refusal.lift)
    if decision.entry is not None:
        kind, data = to_record(decision.entry)
        written = line.encode(data).decode()
        assert not raw_controls(written), kind
        assert not raw_controls(json.dumps(data, ensure_ascii=False).replace("\\u", ""))


@pytest.mark.parametrize("place", TYPED)
def test_a_million_letters_are_refused_and_not_kept(place: str) -> None:
    action = TYPED[place]("x" * 1_000_000)
    job = new_job(started().procedure, rehearsal=True) if isinstance(action, a.Start) else started()
    decision = decide(job, action)
    assert decision.refusal is not None
    assert str(LONGEST_TEXT) in decision.refusal.lift
    if decision.entry is not None:
        assert len(line.encode(to_record(decision.entry)[1])) < 3_000


@pytest.mark.parametrize("name", [*WORKS, *MARKUP])
def test_any_other_text_is_recorded_as_typed(name: str) -> None:
    text = WORKS.get(name) or MARKUP[name]
    job = new_job(started().procedure, rehearsal=True)
    decision = decide(job, a.Start(text, NOW, text))
    assert decision.refusal is None
    assert decision.entry is not None
    kind, data = to_record(decision.entry)
    back = json.loads(line.encode(data))
    assert kind == "started"
    assert back["who"] == text
    assert back["events"][0]["work_piece"] == text
    noted = decide(started(), a.Note("Ann", NOW, text))
    assert noted.refusal is None
    assert noted.entry is not None
    assert text in json.loads(line.encode(to_record(noted.entry)[1]))["events"][0].values()
