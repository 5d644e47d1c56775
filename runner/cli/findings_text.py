"""Findings and verdicts as lines for a terminal. Everything that a file says is made safe here."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from runner.cli.proving import NOT_COVERED, Checked, place_of
from runner.procedure.finding import Finding, Station
from runner.proof.rules import RULES
from runner.safe_text import safe

MOST_STATIONS = 12
"""So many stops of a path are printed whole; of a longer one the first and the last."""
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
        lines += path_lines(finding.path, of, whole=whole_paths)
    if finding.mend:
        lines.append(f"    mend: {safe(finding.mend)}")
    return lines


def path_lines(path: tuple[Station, ...], of: Checked, *, whole: bool = False) -> list[str]:
    """The stops of a path, numbered; a long one is cut in the middle, and says how many stops are left out."""
    lines = [f"    {number:>3}. {_station(station, of)}" for number, station in enumerate(path, start=1)]
    if whole or len(lines) <= MOST_STATIONS:
        return lines
    left_out = len(lines) - _FIRST - _LAST
    return [*lines[:_FIRST], f"      … {left_out} more (--whole-paths shows them)", *lines[-_LAST:]]


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
