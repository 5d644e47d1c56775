"""Where exact answers would explode the proof says so, within its budget, instead of counting for ever."""

from runner.proof.prove import prove
from tests.benchmarks.hostile import chain


def test_put_off_work_that_waits_for_put_off_work_is_decided_while_little_hangs_together():
    assert prove(chain(3)).proved


def test_a_long_chain_of_it_is_not_proved_and_no_table_is_filled_before_its_size_is_judged():
    # A table of each unit's states was once filled first: nine in a row took 20 s, thirty never came back.
    verdict = prove(chain(30))
    assert not verdict.proved
    assert [(finding.rule, finding.grade) for finding in verdict.findings] == [("not-proved", "error")]
    assert "too much hangs together" in verdict.findings[0].message
