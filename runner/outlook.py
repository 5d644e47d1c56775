"""What the proof answers to an act that leaves the plan, in lines for people: before it is recorded, and after.

*May I still put this off, and until where?* is one such question.
"""

from runner.job import actions as a
from runner.job import events as e
from runner.job.decide import ASKS_THE_PROOF, Decision
from runner.job.events import Entry
from runner.job.state import Job
from runner.job.words import owed_words
from runner.view import NO_WAY, ProofLine

_MOST_CLOSES = 5


def outlook(job: Job, action: a.Action, decision: Decision, after: Job) -> tuple[ProofLine, ...]:
    """The answer to an act not yet recorded: `after` is the job it would lead to."""
    if not isinstance(action, ASKS_THE_PROOF):
        return ()
    if decision.refusal is not None:
        lift = f". Way on: {decision.refusal.lift}" if decision.refusal.lift else ""
        words = decision.refusal.text
        if words.startswith("no way left"):
            return (ProofLine("lost", f"{NO_WAY}{words.removeprefix('no way left')}{lift}"),)
        return (ProofLine("refused", f"It would be refused: {words}{lift}"),)
    if decision.entry is None:
        return ()
    if not job.gates.proved:
        if not isinstance(action, a.PutOff):
            return ()
        words = "It can be put off. This run is not proved: nothing tells until where it can still be done."
        return (ProofLine("owed", words),)
    return answer_lines(decision.entry, job, after)


def answer_lines(entry: Entry, before: Job, after: Job) -> tuple[ProofLine, ...]:
    """The answer within an entry, between the job before it and the job after it; nothing where none was asked for."""
    said = next((event for event in entry.events if isinstance(event, e.Reproved)), None)
    if said is None:
        return ()
    new = [words for key, words in said.lost if key and (key, words) not in before.lost]
    lines = [ProofLine("lost", f"{NO_WAY}: {words}") for words in dict.fromkeys(new)]
    # Without a key it is nothing lost, but what the proof has to say of itself.
    lines += [ProofLine("unsure", words[:1].upper() + words[1:]) for key, words in said.lost if not key]
    lines += _owed_now(said, before, after)
    if not said.lost:
        lines.append(ProofLine("holds", "Everything that is open can still be closed."))
    elif not new:
        lines.append(ProofLine("holds", "Nothing more is lost by it than was lost before."))
    if isinstance(entry.events[0], e.PutOffUnplanned):
        return tuple(lines)
    if said.closes:
        more = len(said.closes) - _MOST_CLOSES
        rest = f"; and {more} more" if more > 0 else ""
        lines.append(ProofLine("closes", f"Closed ahead: {'; '.join(said.closes[:_MOST_CLOSES])}{rest}"))
    return tuple(lines)


def _owed_now(said: e.Reproved, before: Job, after: Job) -> list[ProofLine]:
    """What the act makes owed, and until where: that of a step put off first."""
    lines = []
    for key, words in said.until:
        owed = after.owed.get(key)
        if owed is None or key in before.owed:
            continue
        if owed.kind == "unplanned":
            lines.append(ProofLine("owed", f"It may still be put off, and is done {words}."))
        else:
            lines.append(ProofLine("owed", f"Owed, to be done {words}: {owed_words(after, owed)}"))
    return lines
