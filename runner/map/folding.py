"""Folding: entries that stand once for each value chosen at the start are one entry, since a job has only one of them.

What some jobs do not have is put under one heading where several entries in a row share the reason.
"""

from collections.abc import Sequence
from typing import Any, TypeVar

from runner.map.entries import Ending, Entry, Lead, Section, Step, Way
from runner.map.words import choice_words
from runner.procedure.linked import Procedure, Test

E = TypeVar("E", Step, Section, Ending)
Group = tuple[Test | None, tuple[Entry, ...]]


def folded(entries: Sequence[Entry], procedure: Procedure) -> tuple[Entry, ...]:
    """The entries with alternatives of one choice folded and shared choices put under headings, all the way down."""
    groups: list[Group] = []
    for entry in entries:
        inside = _inside(entry, procedure)
        test = inside.only_for[0] if inside.only_for else None
        if test is not None:
            inside = inside.but(only_for=inside.only_for[1:])
        if test is not None and groups and groups[-1][0] == test:
            groups[-1] = (test, (*groups[-1][1], inside))
        else:
            groups.append((test, (inside,)))
    made: list[Entry] = []
    while groups:
        test, alike, used = _alternatives(groups, procedure)
        groups = groups[used:]
        made += _headed(test, alike, procedure)
    return tuple(made)


def _inside(entry: Entry, procedure: Procedure) -> Entry:
    match entry:
        case Step():
            return entry.but(ways=tuple(w.but(lead=_lead(w.lead, procedure)) for w in entry.ways))
        case Section():
            return entry.but(entries=folded(entry.entries, procedure))
        case Ending():
            return entry.but(lead=_lead(entry.lead, procedure)) if entry.lead else entry


def _lead(lead: Lead, procedure: Procedure) -> Lead:
    then = _lead(lead.then, procedure) if lead.then else None
    return lead.but(then=then, entries=folded(lead.entries, procedure))


def _headed(test: Test | None, entries: tuple[Entry, ...], procedure: Procedure) -> list[Entry]:
    """Entries that share a choice: one keeps it on its own line, several get a heading."""
    inner = folded_again(entries, procedure) if test is not None else entries
    if test is None:
        return list(inner)
    if len(inner) == 1 and isinstance(inner[0], Step | Section):
        return [inner[0].but(only_for=(test, *inner[0].only_for))]
    return [Section("only for", f"only for {choice_words((test,))}", entries=inner)]


def folded_again(entries: tuple[Entry, ...], procedure: Procedure) -> tuple[Entry, ...]:
    """Group what is left of the choices of entries whose first one has been put into a heading."""
    return folded(entries, procedure) if any(entry.only_for for entry in entries) else entries


def _alternatives(
    groups: Sequence[Group], procedure: Procedure
) -> tuple[Test | None, tuple[Entry, ...], int]:
    """The first group and how many after it are the same for another value of its choice, made one."""
    test, first = groups[0]
    if test is None:
        return None, first, 1
    values, used, members = list(test.values), 1, [first]
    for other, entries in groups[1:]:
        apart = other is not None and other.name == test.name and not set(other.values) & set(values)
        if other is None or not apart or _signs(entries) != _signs(first):
            break
        values += other.values
        members.append(entries)
        used += 1
    if used == 1:
        return test, first, 1
    name = test.name
    made = tuple(_merge(alike, f"chosen {name}") for alike in zip(*members, strict=True))
    every = next((set(choice.values) for choice in procedure.choices if choice.name == name), set())
    whole = every == set(values)
    return (None if whole else test.model_copy(update={"values": tuple(values)})), made, used


def _signs(entries: Sequence[Entry]) -> tuple[Any, ...]:
    """What two lists of entries have in common if they differ by the place alone."""
    return tuple(_sign(entry) for entry in entries)


def _sign(entry: Entry) -> tuple[Any, ...]:
    match entry:
        case Step():
            node = entry.node
            acts = tuple((act.verb, act.item.partition("@")[0], act.stages) for act in node.acts)
            put_off = node.put_off and (node.put_off.until.text, node.put_off.before.text)
            ways = tuple((way.kind, way.label, _sign_lead(way.lead)) for way in entry.ways)
            rest = (entry.only_for, entry.only, acts, node.sets, put_off, node.notices, node.hold is None)
            return ("step", node.step, node.title, rest, ways)
        case Section():
            return ("section", entry.kind, entry.title, entry.only, _signs(entry.entries))
        case Ending():
            return ("ending", entry.lead and _sign_lead(entry.lead), entry.says)


def _sign_lead(lead: Lead) -> tuple[Any, ...]:
    to = "" if lead.kind == "go on" else lead.to.partition("@")[0]
    return (lead.kind, to, lead.at_most, lead.then and _sign_lead(lead.then), _signs(lead.entries))


def _merge(alike: Sequence[Entry], place: str) -> Entry:
    """Entries with the same sign made one; each keeps all nodes."""
    first = alike[0]
    match first:
        case Step():
            steps = [entry for entry in alike if isinstance(entry, Step)]
            ways = tuple(_merge_ways(ways, place) for ways in zip(*(s.ways for s in steps), strict=True))
            return first.but(
                nodes=tuple(node for step in steps for node in step.nodes),
                place=_common_place([step.place for step in steps], place),
                ways=ways,
            )
        case Section():
            sections = [entry for entry in alike if isinstance(entry, Section)]
            parts = zip(*(section.entries for section in sections), strict=True)
            return first.but(
                place=_common_place([section.place for section in sections], place),
                heads=tuple(head for section in sections for head in section.heads),
                ends=tuple(end for section in sections for end in section.ends),
                entries=tuple(_merge(part, place) for part in parts),
            )
        case Ending():
            endings = [entry for entry in alike if isinstance(entry, Ending)]
            lead = _merge_leads([e.lead for e in endings if e.lead], place) if first.lead else None
            return first.but(nodes=tuple(node for e in endings for node in e.nodes), lead=lead)


def _merge_ways(ways: Sequence[Way], place: str) -> Way:
    return ways[0].but(lead=_merge_leads([way.lead for way in ways], place))


def _merge_leads(leads: Sequence[Lead], place: str) -> Lead:
    thens = [lead.then for lead in leads if lead.then is not None]
    parts = zip(*(lead.entries for lead in leads), strict=True)
    return leads[0].but(
        then=_merge_leads(thens, place) if thens else None,
        entries=tuple(_merge(part, place) for part in parts),
    )


def _common_place(places: Sequence[str], chosen: str) -> str:
    """The place of a folded step: where the places differ stands the name of the choice."""
    parts = [place.split(".") for place in places]
    if len({len(part) for part in parts}) != 1:
        return chosen
    return ".".join(values[0] if len(set(values)) == 1 else chosen for values in zip(*parts, strict=True))
