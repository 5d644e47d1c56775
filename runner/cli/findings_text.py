"""Findings and verdicts as lines for a terminal. Everything that a file says is made safe here."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from runner.cli.proving import NOT_COVERED, Checked, place_of
from runner.procedure.finding import Finding, Mark, Station
from runner.procedure.linked import END
from runner.proof.rules import RULES
from runner.safe_text import safe

MOST_STATIONS = 12
"""So many stops of a path are printed whole; of a longer one the first, the last and the finding's own."""
_FIRST = 4
_LAST = 7


def finding_lines(finding: Finding, of: Checked, *, whole_paths: bool = False) -> list[str]:
    """The finding with its source line, its rule where the proof has one, the path that shows it, and what mends it."""
    lines = replace(finding, file=of.reached(finding.file)).text().split("\n")
    rule = RULES.get(finding.rule)
    if rule is not None:
        lines.append(f"    rule: {rule.name} ({rule.number})")
    if finding.path:
        lines.append("    shown by this way:")
        lines += path_lines(finding, of, whole=whole_paths)
    if finding.mend:
        lines.append(f"    mend: {safe(finding.mend)}")
    return lines


def path_lines(finding: Finding, of: Checked, *, whole: bool = False) -> list[str]:
    """The stops of a finding's path, numbered; a long one is cut, and says where how many stops are left out.

    The first, the last and the stop that the finding is about stay.
    """
    path, end = finding.path, len(finding.path)
    kept = set(range(end))
    if not whole and end > MOST_STATIONS:
        own = [at for at, station in enumerate(path) if _is_about(finding, station)]
        kept = {*range(_FIRST), *own[-1:], *range(end - _LAST, end)}
        # A line that says "1 more" is no shorter than that one.
        kept |= {at for at in range(1, end) if at - 1 in kept and at + 1 in kept}
    lines, left_out = [], 0
    for at, station in enumerate(path):
        if at not in kept:
            left_out += 1
            continue
        if left_out:
            lines.append(f"      … {left_out} more (--whole-paths shows them)")
            left_out = 0
        lines.append(f"    {at + 1:>3}. {_station(station, of)}")
    return lines


def _is_about(finding: Finding, station: Station) -> bool:
    """Whether a stop is at the place that is underlined: a finding of the end is about the step that opened it."""
    return station.mark == Mark(finding.file, finding.line, finding.column) and station.node != END


def _station(station: Station, of: Checked) -> str:
    return safe(f"{place_of(station.mark, of)}  {station_words(station)}")


def station_words(station: Station) -> str:
    """Step, place and what happens there, as one line of plain text."""
    where = f"{station.step} ({station.place})" if station.place else station.step
    return ": ".join(part for part in (where, station.does) if part)


def verdict_line(of: Checked) -> str:
    """Whether one procedure is proved, and how large the proof was. It begins unlike a finding, for programs."""
    name = safe(str(of.path))
    if of.verdict is None:
        return f"not proved: {name} (it cannot be linked)"
    size = (_many(of.steps, "step"), _many(of.verdict.items, "item"), _many(of.verdict.states, "state"))
    return f"{'proved' if of.proved else 'not proved'}: {name} ({', '.join(size)})"


def summary(files: int, counted: Counter[str], *, strict: bool = False) -> str:
    """The last line of `check`."""
    parts = [_many(files, "procedure"), _many(counted["error"], "error")]
    parts += [_many(counted[grade], grade) for grade in ("warning", "advice") if counted[grade]]
    counts = strict and counted["warning"]
    return ", ".join(parts) + (" (warnings count as errors: --strict)" if counts else "")


def not_covered_lines() -> Iterable[str]:
    """What no proof says, for `--verbose`."""
    return ("What the proof does not cover:", *(f"  - {each}" for each in NOT_COVERED))


def _many(number: int, word: str) -> str:
    plural = word if number == 1 or word == "advice" else f"{word}s"
    return f"{number or 'no'} {plural}"
