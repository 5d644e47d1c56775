"""P15 and P16: what counts from a step that may be put off, and latest times before the window opens."""

import pytest

from tests.proof.local_text import lines, told

PUT_OFF = """\
conditions: {support: {at start: up, changes: {up: [down], down: [up]}}}
steps:
  - {step: first, do: Do it.}
  - {step: later, do: Do it, put off: {until: {support: down}, before: end, because: it must stand}}
"""
AFTER = """\
  - {step: lower, do: Lower it., sets: {support: down}}
  - {step: rest, do: Do the rest.}
"""


def put_off(window: str) -> str:
    return PUT_OFF + f"  - {{step: other, do: Do it., put off: {{{window}, because: it must}}}}\n" + AFTER


def test_a_time_limit_that_counts_from_a_put_off_step():
    limited = "  - {step: quick, do: Be quick., in time: {from: %s, within: 5 min}}\n"
    assert lines(PUT_OFF + limited % "later" + AFTER) == [
        '5:12 waits-for-put-off: the time of this step counts from "later", which may itself be put off'
    ]
    assert lines(PUT_OFF + limited % "first" + AFTER) == []


def test_a_window_at_a_put_off_step():
    body = (
        "steps:\n"
        "  - {step: early, do: Do it., put off: {until: {at: %s}, before: end, because: it must}}\n"
        "  - {step: first, do: Do it.}\n"
        "  - {step: later, do: Do it., put off: {until: {time: 5 min, after: first}, before: end, because: wet}}\n"
    )
    assert lines(body % "later") == [
        "2:12 waits-for-put-off: this step waits until the work stands at"
        ' "later", which may itself be put off'
    ]
    assert told(body % "later")[0].mend == (
        "name a step that is done on the way, or wait until it is done: until: {step: later}"
    )
    assert lines(body % "first") == []


def test_a_step_before_a_put_off_step():
    body = (
        "steps:\n"
        "  - {step: first, do: Do it.}\n"
        "  - {step: early, do: Do it., put off: {until: {step: first}, before: %s, because: it must}}\n"
        "  - {step: later, do: Do it., put off: {until: {time: 5 min, after: first}, before: end, because: wet}}\n"
        "  - {step: last, do: Do it.}\n"
    )
    assert lines(body % "later") == [
        '3:12 waits-for-put-off: this step comes before "later", which may itself be put off'
    ]
    assert lines(body % "last") == []


def test_a_latest_time_that_counts_from_a_put_off_step():
    window = "until: {support: down}, before: end, no later than: {time: 2 h, after: %s}"
    assert lines(put_off(window % "later")) == [
        '5:12 waits-for-put-off: the latest time of this step counts from "later", which may itself be put off'
    ]
    assert lines(put_off(window % "first")) == []


@pytest.mark.parametrize("until", ["{step: later}", "{time: 5 min, after: later}"])
def test_waiting_until_a_put_off_step_is_done_is_allowed(until: str):
    assert lines(put_off(f"until: {until}, before: end")) == []


@pytest.mark.parametrize(("latest", "early"), [("4 h", True), ("239 min", True), ("4 h 1 s", False)])
def test_a_latest_time_before_the_window_opens(latest: str, early: bool):
    found = lines(
        put_off(
            f"until: {{time: 4 h, after: first}}, before: end, no later than: {{time: {latest}, after: first}}"
        )
    )
    shown = "3 h 59 min" if latest == "239 min" else latest
    message = f"this step must be done within {shown} after first, and its window opens 4 h after first"
    assert found == ([f"5:12 latest-too-early: {message}"] if early else [])


def test_a_latest_time_from_another_step_is_not_compared():
    window = "until: {time: 4 h, after: first}, before: end, no later than: {time: 1 h, after: between}"
    body = put_off(window).replace("  - {step: later", "  - {step: between, do: Do it.}\n  - {step: later")
    assert lines(body) == []


def test_a_step_in_a_repeat_is_told_once():
    body = """\
locations: {side: [left, right]}
steps:
  - each: side
    steps:
      - {step: first, do: Do it.}
      - step: set
        do: Let it set.
        put off:
          until: {time: 10 min, after: first}
          before: end
          because: wet
          no later than: {time: 5 min, after: first}
"""
    found = told(body)
    assert [(one.rule, one.node) for one in found] == [("latest-too-early", "set@left")]
    assert (found[0].length, found[0].grade) == (len("set"), "error")
