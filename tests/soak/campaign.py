"""The runs of a range of seeds, each judged at its end from its file."""

import gc
import hashlib
import shutil
import traceback
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from runner.log.scan import scan, scan_file
from runner.procedure.link import load_procedure
from runner.proof.prove import prove
from runner.replaying import replay
from tests.judge import judge
from tests.soak import forked
from tests.soak.counts import Tally
from tests.soak.driver import Driver

DEMO = Path(__file__).parents[2] / "procedures" / "lower-arm.yaml"
FORKS_PERCENT = 15
"""In how many runs of a hundred a process is to be killed; some of these end before."""
MOST_FAULTS = 20


def soak(seeds: Iterable[int], folder: Path, told: int = 0, often: int = 1) -> Tally:
    """Play the demonstration job once for each seed; after every `told` runs the counts so far are printed.

    Interruptions come `often` times as often as in the 10,000 runs.
    """
    procedure, found = load_procedure(DEMO)
    assert procedure is not None, "\n".join(finding.text() for finding in found)
    gates = prove(procedure).gates
    assert gates.proved, "the demonstration is proved"
    tally = Tally()
    with _few_collections():
        for seed in seeds:
            driver = Driver(procedure, gates, seed, folder / str(seed), often)
            if forked.POSSIBLE and driver.dice.chance(FORKS_PERCENT * often):
                driver.fork_at = driver.dice.number(3, 150)
            one = _played(driver, folder / str(seed))
            tally.add(one)
            if not one.faults:
                shutil.rmtree(folder / str(seed))
            if told and tally.runs % told == 0:
                print(f"to seed {seed}: {tally.text()}", flush=True)
            if len(tally.faults) >= MOST_FAULTS:
                break
    return tally


@contextmanager
def _few_collections() -> Iterator[None]:
    """Jobs are trees of frozen records that refer to nothing above them: looking for cycles is a fifth of a soak."""
    thresholds = gc.get_threshold()
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)
    try:
        yield
    finally:
        gc.set_threshold(*thresholds)
        gc.unfreeze()


def _played(driver: Driver, folder: Path) -> Tally:
    """One run, its end, and what is found against it."""
    tally = Tally(runs=1)
    try:
        driver.play()
        driver.run.close()
        ended(driver, folder, tally)
    except Exception as error:
        # A soak goes on: what is wrong with one run is told with its seed, and its files are kept.
        where = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{Path(where.filename).name}:{where.lineno}"
        tally.faults.append(f"seed {driver.seed}: {type(error).__name__} {error} at {place} ({folder})")
    finally:
        driver.run.close()
    tally.seen += driver.counts
    return tally


def ended(driver: Driver, folder: Path, tally: Tally) -> None:
    """Hold the file of a run to what was confirmed and to the judge, who knows nothing of the program."""
    data, job = driver.path.read_bytes(), driver.job
    report, verdict = scan(data), judge(data)
    tally.outcomes[verdict.outcome or "no seal"] += 1
    tally.seen += verdict.seen
    tally.seen.update(record.kind for record in report.records if record.kind in ("opened", "clock", "scar"))
    tally.seen["entries"] += report.count
    tally.faults += [f"seed {driver.seed}: {fault} ({folder})" for fault in verdict.faults[:3]]
    assert verdict.outcome == job.outcome, f"the judge says {verdict.outcome!r}, the job {job.outcome!r}"
    assert report.state == ("complete" if verdict.outcome else "open"), report.summary()
    assert "left_proof" not in verdict.seen, "the proof excluded what could happen"
    assert replay(report) == job, "the log replays to another job"
    lost = [n for n, head in driver.heads.items() if report.records[n].head != head]
    assert not lost, f"confirmed, and not in the file: {lost}"
    for size, digest in driver.deaths:
        assert hashlib.sha256(data[:size]).hexdigest() == digest, f"the first {size} bytes were changed"
    listed = scan_file(folder / "shop.jsonl", first="shop")
    assert listed.state == "open", f"the shop's list: {listed.summary()}"
    assert "started" in [record.kind for record in listed.records]
