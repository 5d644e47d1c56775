"""The ways: entries unfolded from the last to the first, so that each knows what follows it.

Repeats are written out place by place, ways nest and rejoin, and a way back carries its limit. Guards that
read conditions or answers stand once, at the head of a portion, so that what is done inside cannot make the
rest of it vanish; choices made at the start hold for the whole run and stand on every node.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from runner.procedure import linked, source
from runner.procedure.link_frame import Bound, Draft, Frame, Listed
from runner.procedure.link_outline import Declared, entered
from runner.procedure.link_report import Report
from runner.procedure.linked import BACK, END, STOP, Exit, Limit
from runner.procedure.source import Again, Call, Entry, GoOn, Nested, Portion, Repeat, Step, Stop

Woven = tuple[str, list[Draft]]
"""The id of the first node (of what follows, where there is none) and the nodes in the order of the text."""
CallWeaver = Callable[[Call, Frame, str], Woven]
_DEEPEST = 60


@dataclass
class _Leaving:
    """The ways out of one step: where they are written, what follows the step, the nodes they bring in."""

    frame: Frame
    follow: str
    inner: list[Draft]


class Weaver:
    """Unfolds entries; a call of a sub-procedure is handed to `call`."""

    def __init__(self, report: Report, call: CallWeaver) -> None:
        self._report = report
        self._call = call
        self._back: list[tuple[str, source.Name]] = []

    def entries(self, entries: Sequence[Entry], frame: Frame, follow: str) -> Woven:
        """Unfold a list; what is after it is `follow`."""
        chunks: list[list[Draft]] = []
        listed = Listed(tuple(entries))
        for position in reversed(range(len(entries))):
            follow, drafts = self.entry(entries[position], frame.at(listed, position), follow)
            chunks.append(drafts)
        return follow, [draft for chunk in reversed(chunks) for draft in chunk]

    def entry(self, entry: Entry, frame: Frame, follow: str) -> Woven:
        """Unfold one entry of a list."""
        if len(frame.lists) > _DEEPEST:
            self._report.error(entry.mark, "too-deep", f"ways nest more than {_DEEPEST} deep here")
            return follow, []
        match entry:
            case Step():
                return self._step(entry, frame, follow)
            case Repeat():
                return self._repeat(entry, frame, follow)
            case Portion():
                return self._portion(entry, frame, follow)
            case Call():
                return self._called(entry, frame, follow)
            case Again():
                return self._again(entry, frame, follow)
            case Stop():
                return self._stop(entry, frame, follow)

    def missing_targets(self, ids: set[str]) -> None:
        """Report every way back to a step that is not done at that place."""
        for target, name in self._back:
            if target not in ids and target not in (END, STOP, BACK):
                self._report.at(name, "way-back", f'"{name.text}" is not done at this place')

    def draft(self, frame: Frame, name: str, entry: Entry, follow: str) -> Draft:
        """Make a node here; counted, for a procedure must not unfold without end."""
        self._report.add_node(entry.mark)
        index = frame.unit.outline.index(entry)
        return Draft(frame.key(name), frame, index, entry.mark, follow, follow, guard=frame.guard)

    def _step(self, step: Step, frame: Frame, follow: str) -> Woven:
        guard = self.only_for(step.only_for, frame)
        if guard is None:
            return follow, []
        draft = self.draft(frame, step.name.text, step, follow)
        draft.step, draft.only_if = step, step.only_if
        draft.guard = frame.guard + guard
        inner: list[Draft] = []
        leave = _Leaving(replace(frame, guard=draft.guard), follow, inner)
        draft.answers = tuple(self._way(leave, a.label, a.way, f"{draft.id}:{a.label}") for a in step.answers)
        for reading in entered(step):
            name = reading.name.text
            draft.sorted_ways[name] = tuple(
                self._way(leave, s.label, s.way, f"{draft.id}:{name}:{s.label}") for s in reading.sorting
            )
        if step.hold:
            way = step.hold.if_refused or Stop(mark=step.mark)
            draft.refused = self._way(leave, "refused", way, f"{draft.id}:hold point")
        if step.in_time:
            way = step.in_time.too_late or Stop(mark=step.mark)
            draft.late = self._way(leave, "too late", way, f"{draft.id}:in time")
        return draft.id, [draft, *inner]

    def _way(self, leave: "_Leaving", label: str, way: source.Way, limit: str) -> Exit:
        match way:
            case GoOn():
                return Exit(label=label, to=leave.follow)
            case Stop():
                return Exit(label=label, to=STOP)
            case Again():
                then = self._way(leave, label, way.then, f"{limit}/then")
                kept = Limit(id=limit, at_most=way.at_most, then=then)
                return Exit(label=label, to=self._target(way, leave.frame), limit=kept)
            case Nested(entries=(Again() | Stop() as only,)):
                return self._way(leave, label, only, limit)
            case Nested():
                head, drafts = self.entries(way.entries, leave.frame, leave.follow)
                leave.inner += drafts
                return Exit(label=label, to=head)

    def _target(self, again: Again, frame: Frame) -> str:
        """The node of an earlier step on the main line of this list or one around it."""
        name = again.step
        for scope in reversed(frame.lists):
            if scope.goes_back_to(name.text):
                target = replace(frame, bounds=scope.bounds).key(name.text)
                self._back.append((target, name))
                return target
        declared = frame.unit.outline.steps.get(name.text)
        if declared is None:
            self._report.unknown(name, "unknown-step", "step", frame.unit.outline.steps)
        else:
            self._report.at(name, "way-back", _why_not_back(declared, again, frame))
        return END

    def _again(self, again: Again, frame: Frame, follow: str) -> Woven:
        """A way back at the end of nested steps: a joint that is passed at once."""
        draft = self.draft(frame, f"again:{frame.unit.outline.index(again)}", again, follow)
        leave = _Leaving(frame, follow, [])
        label = f"again: {again.step.text}"
        draft.joint = f"{label}, at most {again.at_most} times"
        draft.answers = (self._way(leave, label, again, draft.id),)
        return draft.id, [draft, *leave.inner]

    def _stop(self, stop: Stop, frame: Frame, follow: str) -> Woven:
        """A stop at the end of nested steps: a joint too, so that the step before it ends before work stops."""
        draft = self.draft(frame, f"stop:{frame.unit.outline.index(stop)}", stop, follow)
        draft.joint = "stop"
        draft.answers = (Exit(label="stop", to=STOP),)
        return draft.id, [draft]

    def _repeat(self, repeat: Repeat, frame: Frame, follow: str) -> Woven:
        location = frame.unit.locations.get(repeat.each.text)
        if location is None:
            self._report.unknown(repeat.each, "unknown-location", "location", frame.unit.locations)
            return follow, []
        if any(bound.location == repeat.each.text for bound in frame.bounds):
            message = f'this is already inside a repeat over "{repeat.each.text}"'
            self._report.at(repeat.each, "repeat-in-repeat", message)
            return follow, []

        def insides(after: str) -> Woven:
            chunks: list[list[Draft]] = []
            for value in reversed(location.values):
                bound = Bound(repeat.each.text, value.text, location.choose)
                inside = replace(frame, bounds=(*frame.bounds, bound))
                if bound.chosen:
                    inside = replace(inside, guard=(*frame.guard, bound.test()))
                guard = self.only_for(repeat.only_for, inside)
                if guard is not None:
                    inside = replace(inside, guard=inside.guard + guard)
                    after, drafts = self.entries(repeat.entries, inside, after)
                    chunks.append(drafts)
            return after, [draft for chunk in reversed(chunks) for draft in chunk]

        return self._guarded(repeat, frame, follow, f"each {repeat.each.text}", insides)

    def _portion(self, portion: Portion, frame: Frame, follow: str) -> Woven:
        guard = self.only_for(portion.only_for, frame)
        if guard is None:
            return follow, []
        inside = replace(frame, guard=frame.guard + guard)
        return self._guarded(
            portion, inside, follow, "part", lambda after: self.entries(portion.entries, inside, after)
        )

    def _called(self, call: Call, frame: Frame, follow: str) -> Woven:
        guard = self.only_for(call.only_for, frame)
        if guard is None:
            return follow, []
        return self._call(call, replace(frame, guard=frame.guard + guard), follow)

    def _guarded(
        self,
        entry: Repeat | Portion,
        frame: Frame,
        follow: str,
        what: str,
        insides: Callable[[str], Woven],
    ) -> Woven:
        """The nodes of a group, behind one node that reads its `only if` once, at the head."""
        head, drafts = insides(follow)
        if not entry.only_if or not drafts:
            return head, drafts
        joint = self.draft(frame, f"part:{frame.unit.outline.index(entry)}", entry, head)
        joint.skip, joint.only_if = follow, entry.only_if
        joint.joint = f"{what}: only if {only_if_text(entry.only_if)}"
        return joint.id, [joint, *drafts]

    def only_for(self, tests: Sequence[source.Test], frame: Frame) -> tuple[linked.Test, ...] | None:
        """The choices that `only for` asks here; None where this place is not among those it names."""
        asked: list[linked.Test] = []
        made = True
        for test in tests:
            known = frame.unit.variants.get(test.name.text) or frame.unit.locations.get(test.name.text)
            if known is None:
                words = (*frame.unit.variants, *frame.unit.locations)
                self._report.unknown(test.name, "unknown-choice", "variant or location", words)
                continue
            values = [value.text for value in known.values]
            for value in test.values:
                if value.text not in values:
                    self._report.unknown(value, "unknown-value", f'value of "{test.name.text}"', values)
            names = tuple(dict.fromkeys(value.text for value in test.values))
            held = frame.held(test.name.text)
            if held is not None:
                made = made and held.value in names
            elif isinstance(known, source.Variant) or known.choose:
                asked.append(linked.Test(kind="choice", name=test.name.text, values=names))
            else:
                message = f'"{test.name.text}" is not chosen at the start, and this is not inside its repeat'
                self._report.at(test.name, "only-for-place", message)
        return tuple(asked) if made else None


def only_if_text(tests: Sequence[source.Test]) -> str:
    """A guard in words: `boot is torn`."""
    return " and ".join(f"{t.name.text} is {' or '.join(v.text for v in t.values)}" for t in tests)


def _why_not_back(declared: Declared, again: Again, frame: Frame) -> str:
    """Why a known step cannot be gone back to from here."""
    if frame.detour:
        return f'"{again.step.text}" is outside this detour; a detour goes back only within itself'
    if declared.index > frame.unit.outline.index(_innermost(frame)):
        return f'"{again.step.text}" comes later; a way back leads to an earlier step'
    return f'"{again.step.text}" is inside a repeat, a part or an answer\'s way; one cannot go back into that'


def _innermost(frame: Frame) -> Entry:
    scope = frame.lists[-1]
    return scope.listed.entries[scope.position]
