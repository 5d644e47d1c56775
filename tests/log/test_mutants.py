"""Each fault planted in the log's code is noticed by the quick test that is named for it."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.log.mutants import MUTANTS, Mutant, run
from tests.log.tally import Tally


def notice(mutant: Mutant, folder: Path) -> None:
    """The test passes without the fault (every quick run shows that) and fails with it, by whatever error."""
    with pytest.MonkeyPatch.context() as patch:
        mutant.plant(patch)
        try:
            run(mutant.noticed_by, folder)
        except BaseException as error:  # pytest's own failures are no Exception
            if isinstance(error, KeyboardInterrupt | SystemExit):
                raise
            return
    pytest.fail(f"{mutant.noticed_by} does not notice {mutant.name}: {mutant.old!r} made {mutant.new!r}")


def test_planted_faults_are_noticed(tmp_path: Path) -> None:
    tally = Tally("planted faults noticed", least=40, seed=17)
    for number, mutant in enumerate(Random(tally.seed).sample(MUTANTS, 40)):
        notice(mutant, tmp_path / str(number))
        tally.add(mutant.module.__name__.rpartition(".")[2])
    tally.close()


@pytest.mark.deep
@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda each: f"{each.name}:{each.old[:30]}:{each.new[:12]}")
def test_every_planted_fault_is_noticed(tmp_path: Path, mutant: Mutant) -> None:
    notice(mutant, tmp_path)


def test_planting_the_right_line_is_not_noticed(tmp_path: Path) -> None:
    """What is noticed is the fault, not the planting of it."""
    for number, mutant in enumerate(Random(19).sample(MUTANTS, 12)):
        with pytest.MonkeyPatch.context() as patch:
            replace(mutant, new=mutant.old).plant(patch)
            run(mutant.noticed_by, tmp_path / str(number))


def test_the_table_names_tests_that_pass(tmp_path: Path) -> None:
    """Otherwise they would notice anything; the quick ones of them, for the slower ones run by themselves."""
    names = sorted({mutant.noticed_by for mutant in MUTANTS})
    assert len(MUTANTS) >= 110
    assert len(names) >= 40
    for name in Random(18).sample(names, 6):
        run(name, tmp_path / name)
