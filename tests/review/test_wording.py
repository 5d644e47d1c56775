"""Every event kind has a sentence; text typed by people is never read as a template."""

from typing import Any, get_args

import pytest
from msgspec.structs import fields

from runner.job import events as e
from runner.procedure.finding import Mark
from runner.procedure.linked import Item, Node, Procedure, Stage
from runner.review.facts import EXCEPTIONS
from runner.review.wording import TEMPLATES, Names, filled, sentence

KINDS: tuple[type[Any], ...] = get_args(e.AnyEvent)


def kind_of(event: type[Any]) -> str:
    return str(event.__struct_config__.tag)


@pytest.fixture(scope="module")
def names() -> Names:
    node = Node(id="fit@left", step="fit", place="left", mark=Mark("f", 1, 1), do="Fit the bolt.")
    stages = (Stage(kind="snug", text="snug"), Stage(kind="torque", text="50 N·m", target="50", unit="N·m"))
    bolt = Item(
        key="bolt@left",
        name="bolt",
        place="left",
        kind="fastener",
        at_start="untouched",
        count=2,
        stages=stages,
    )
    return Names(
        Procedure(
            procedure="p",
            title="P",
            revision="1",
            fits="f",
            sources=(),
            people=(),
            nodes=(node,),
            items=(bolt,),
        )
    )


def sample(kind: type[Any], text: str) -> Any:
    """An event of a kind with `text` in every text field that may be anything."""
    values: dict[str, Any] = {}
    for field in fields(kind):
        if field.name == "v":
            continue
        if field.type in (str, str | None):
            values[field.name] = text
        elif field.type is int:
            values[field.name] = 1
        elif field.type is bool:
            values[field.name] = True
        elif "Literal" in str(field.type):
            values[field.name] = get_args(field.type)[0]
        elif field.required:
            values[field.name] = ()
    return kind(**values)


def test_every_event_has_a_sentence_and_no_sentence_is_left_over() -> None:
    assert set(TEMPLATES) == {kind_of(kind) for kind in KINDS}
    assert set(EXCEPTIONS) <= set(TEMPLATES)


@pytest.mark.parametrize("kind", KINDS, ids=kind_of)
def test_a_sentence_is_made_of_any_text(kind: type[Any], names: Names) -> None:
    for text in ("", "{kind} [x] {0} \\1 [{nothing}]", "60 N·m"):
        assert sentence(sample(kind, text), names)


def test_typed_text_is_not_a_template(names: Names) -> None:
    event = e.Noted(node="fit@left", text="{who} [gone]")
    assert sentence(event, names) == "note: {who} [gone]"


def test_optional_parts_go_where_a_field_is_empty() -> None:
    assert filled("a[ ({b})][, {c}]", {"b": "", "c": "x"}) == "a, x"


def test_a_tightening_names_number_stage_value_band_method_and_tool(names: Names) -> None:
    common = {"node": "fit@left", "act": 0, "item": "bolt@left", "stage": 2, "member": 2, "state": "stage 2"}
    measured = e.Tightened(
        **common, method="measured", raw="51", value="51", unit="N·m", low="48", high="52", tool="wrench 7"
    )
    assert sentence(measured, names) == (
        "bolt, left number 2, stage 2 of 2: 51 N·m (band 48 to 52 N·m) with wrench 7: now stage 2"
    )
    click = e.Tightened(**common, method="click", value="50", unit="N·m")
    assert "click at 50 N·m" in sentence(click, names)
    assert ": snug: now" in sentence(e.Tightened(**{**common, "stage": 1}, method="snug"), names)


def test_keys_are_said_as_people_say_them(names: Names) -> None:
    corrected = e.Corrected(
        key="tighten fit@left|bolt@left|2|1", raw="50", value="50", unit="N·m", reason="misread", stands=False
    )
    assert sentence(corrected, names) == (
        "correction of bolt, left number 1, stage 2: 50 N·m: misread (the gate would now refuse it: owed again)"
    )
    assert sentence(e.Reconfirmed(key="step:fit@left", as_recorded=False), names) == (
        "compared with the hardware: left: Fit the bolt.: NOT as recorded"
    )
    refused = e.Refused(action="CountIn", why="no")
    assert sentence(refused, names) == "REFUSED count in: no"


def test_unknown_ids_are_said_as_they_are(names: Names) -> None:
    assert sentence(e.Listed(node="elsewhere"), names) == "put off as planned: elsewhere"
