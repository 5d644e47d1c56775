"""Every page of `check --explain` is true: what it calls wrong breaks that rule and no other; mended it is clean."""

import pytest

from runner.procedure.finding import Finding, Mark
from runner.procedure.link_whole import link
from runner.procedure.reader import read_procedure
from runner.procedure.source import Source
from runner.proof.prove import prove
from runner.proof.rules import RULES
from runner.proof.rules.page import Page
from runner.proof.rules.pages import PAGES
from tests.procedures.test_guide import whole

SHOWN = {name: page for name, page in PAGES.items() if page.wrong}


def findings(example: str, page: Page) -> list[Finding]:
    files = dict(page.files)

    def resolve(path: str, _: Mark) -> Source | None:
        source, found = read_procedure(whole(files[path]), path)
        assert source is not None, found
        return source

    read, found = read_procedure(whole(example), "job.yaml")
    assert read is not None, [each.text() for each in found]
    procedure, linking = link(read, resolve)
    assert procedure is not None, [each.text() for each in linking]
    return [*found, *linking, *prove(procedure).findings]


def test_only_what_no_short_procedure_can_show_has_no_example() -> None:
    assert set(RULES) - set(SHOWN) == {"not-proved"}


@pytest.mark.parametrize("name", SHOWN)
def test_what_a_page_calls_wrong_breaks_its_rule_and_no_other(name: str) -> None:
    found = findings(SHOWN[name].wrong, SHOWN[name])
    assert {each.rule for each in found} == {name}, [each.text() for each in found]
    assert {each.grade for each in found} == {RULES[name].grade}
    assert all(each.mend for each in found)


@pytest.mark.parametrize("name", SHOWN)
def test_what_a_page_calls_mended_is_without_a_finding(name: str) -> None:
    assert [each.text() for each in findings(SHOWN[name].right, SHOWN[name])] == []


ABSENT = {"never-reached", "no-way-out"}
"""Of these no way exists that could be shown."""


@pytest.mark.parametrize("name", [n for n, rule in RULES.items() if rule.at_run and n not in ABSENT])
def test_what_a_run_can_break_is_shown_by_a_way(name: str) -> None:
    found = findings(SHOWN[name].wrong, SHOWN[name])
    assert all(each.path for each in found)
    assert all(station.does for each in found for station in each.path)
