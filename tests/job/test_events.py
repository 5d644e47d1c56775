"""Every kind of event goes into the log and comes back as it was; what is not known is refused by name."""

import json
from typing import Any, get_args

import pytest
from msgspec import NODEFAULT
from msgspec.structs import fields

from runner.job import events as e
from runner.job.evolve import UnknownEventError, apply
from runner.job.record import RecordError, from_record, to_record
from runner.job.state import new_job
from runner.joint.wrench import Certificate, Extension, Wrench
from runner.stamp import Stamp
from tests.procedure.procedure_text import linked

STAMP = Stamp(1_780_000_000_000, 120, 5, "boot")
KINDS: tuple[type[Any], ...] = get_args(e.AnyEvent)
HOSTILE = 'a "quoted" \\ text\n[bold]{x}\u0007 · 漢 \u2028'


def _event(kind: type[Any], *, full: bool) -> Any:
    """One event of a kind; `full` gives every field another value than its default."""
    values = {}
    for field in fields(kind):
        if field.name == "v" or (not full and not field.required):
            continue
        values[field.name] = _value(str(field.type), field.default)
    return kind(**values)


def _value(annotation: str, default: Any) -> Any:
    if "Literal" in annotation:
        texts = [text.strip(" '\"") for text in annotation.split("[", 1)[1].rstrip("]").split(",")]
        return texts[-1]
    if annotation.count("Mapping") == 2:
        return {HOSTILE: {"a": (HOSTILE, "b")}, "c": {}}
    if "Mapping" in annotation:
        return {HOSTILE: (HOSTILE, "b")}
    if "tuple[tuple" in annotation:
        return ((HOSTILE, "b"), ("c", "d"))
    if "tuple[int" in annotation:
        return (3, 1)
    if "tuple[str" in annotation:
        return (HOSTILE, "b")
    if "Wrench" in annotation:
        certificate = Certificate(uncertainty="1.2", unit="%", coverage="2", number=HOSTILE)
        return Wrench(
            name=HOSTILE, kind="click", low="20", high="130", unit="N·m", graduation="1", length="400",
            type_class="II A", serial=HOSTILE, due_on="2026-11-26", certificate=certificate,
        )  # fmt: skip
    if "Extension" in annotation:
        return Extension(length="50", angle="30")
    if "bool" in annotation:
        return default is NODEFAULT or not default
    if "int" in annotation:
        return 7
    return HOSTILE


@pytest.mark.parametrize("full", [False, True], ids=["plain", "full"])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_every_event_comes_back_from_the_log_as_it_went_in(kind, full):
    event = _event(kind, full=full)
    entry = e.Entry("Ann", STAMP, (event,))
    name, data = to_record(entry)
    assert name == event.kind
    again = from_record(json.loads(json.dumps(data, ensure_ascii=False)), STAMP)
    assert again == entry
    assert type(again.events[0]) is kind


def test_the_kinds_are_named_once_each_and_carry_a_version():
    names = [kind.__struct_config__.tag for kind in KINDS]
    assert len(set(names)) == len(names)
    assert all(_event(kind, full=False).v >= 1 for kind in KINDS)
    assert all(str(name) == str(name).lower() and " " not in name for name in names)


def test_every_class_of_event_is_one_that_the_log_knows():
    classes = {
        thing
        for thing in vars(e).values()
        if isinstance(thing, type) and issubclass(thing, e.Event) and thing not in (e.Event, e.Held)
    }
    assert classes == set(KINDS)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_the_fold_has_a_rule_for_every_kind(kind):
    job = new_job(linked("steps:\n  - {step: one, do: One.}\n"))
    event = _event(kind, full=True)
    try:
        apply(job, event, e.Entry("Ann", STAMP, (event,)))
    except UnknownEventError:
        pytest.fail(f"no rule for {kind.__name__}")
    except (KeyError, IndexError):
        pass  # there is a rule, and this made-up event names what the job does not have


def test_an_event_the_fold_does_not_know_is_an_error_by_name():
    class Invented(e.Event, tag="invented"):
        pass

    job = new_job(linked("steps:\n  - {step: one, do: One.}\n"))
    with pytest.raises(UnknownEventError, match="Invented"):
        apply(job, Invented(), e.Entry("Ann", STAMP, (Invented(),)))


GOOD = {"kind": "noted", "v": 1, "node": "one", "text": "x"}


@pytest.mark.parametrize(
    ("events", "message"),
    [
        ([{**GOOD, "kind": "levitated"}], "'levitated' version 1"),
        ([{**GOOD, "v": 2}], "'noted' version 2"),
        ([GOOD, {**GOOD, "v": 99}], "'noted' version 99"),
        ([{**GOOD, "colour": "red"}], "'noted' version 1"),
        ([{"kind": "noted", "v": 1, "node": "one"}], "'noted' version 1"),
        ([{**GOOD, "text": 5}], "'noted' version 1"),
        (["noted"], "noted"),
        ([None], "not known"),
        ([], "no events"),
        ("noted", "no events"),
    ],
)
def test_an_unknown_kind_version_or_form_is_refused_by_name(events, message):
    with pytest.raises(RecordError, match=message):
        from_record({"who": "Ann", "events": events}, STAMP)


@pytest.mark.parametrize("who", [None, 5, ["Ann"]])
def test_an_entry_without_a_name_is_refused(who):
    with pytest.raises(RecordError, match="no name"):
        from_record({"who": who, "events": [GOOD]}, STAMP)
