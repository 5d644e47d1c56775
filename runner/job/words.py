"""How the engine says things: items, places, tests and owed work in words a technician reads once."""

from decimal import Context, Decimal, InvalidOperation

from runner.job.events import Held
from runner.job.state import Job, Owed
from runner.procedure.linked import Due, Item, Node, Stage, Test, Window
from runner.procedure.source import Surface
from runner.quantities import QuantityError
from runner.quantities.quantity import show_number


def place_of(node: Node) -> str:
    """`left: ` before a sentence, or nothing."""
    return f"{node.place}: " if node.place else ""


def test_words(job: Job, test: Test) -> str:
    """A test as what must be true: `support must be raised`."""
    wanted = " or ".join(test.values)
    if test.kind == "item":
        return f"{job.procedure.item_by_key[test.name].label} must be {wanted}"
    if test.kind == "answer":
        return f"the answer at {test.name} must be {wanted}"
    return f"{test.name} must be {wanted}"


def test_finding(job: Job, test: Test) -> str:
    """What is the case instead: `support is on wheels`."""
    if test.kind == "item":
        return f"{job.procedure.item_by_key[test.name].label} is {job.state_of(test.name)}"
    if test.kind == "condition":
        return f"{test.name} is {job.found.get(test.name) or job.conditions.get(test.name, 'not known')}"
    return f"it is {job.answers.get(test.name, 'not answered')}"


def owed_words(job: Job, owed: Owed) -> str:
    """What is owed and where, as one line."""
    if owed.kind == "extra":
        return owed.why
    node = job.procedure.by_id[owed.node]
    again = " (again)" if owed.kind == "again" else ""
    return f"{place_of(node)}{node.title}{again}"


def _titles(job: Job, nodes: tuple[str, ...]) -> str:
    """The steps a window or due point names, as a technician knows them."""
    return "; ".join(
        dict.fromkeys(f"{place_of(job.procedure.by_id[n])}{job.procedure.by_id[n].title}" for n in nodes)
    )


def window_words(job: Job, window: Window) -> str:
    """When something put off can be done."""
    if window.kind == "condition":
        return window.text
    if window.kind == "at":
        return f"at: {_titles(job, window.nodes)}"
    if window.kind == "done":
        return f"after: {_titles(job, window.nodes)}"
    return f"{duration_words(window.time)} after: {_titles(job, window.nodes)}"


def stop_words(job: Job) -> str:
    """Where and why the work stopped; a way back that was used up is told by the step it leads to, not by its name."""
    node, label = job.node, job.stopped_label
    if node is None:
        return label
    name = label.removeprefix("again: ")
    back = [n for n in job.procedure.by_id.values() if name != label and n.step == name]
    here = next((n for n in back if n.place == node.place), None)
    if here is None:
        return f"{node.title} ({label})"
    return f"{here.title} (done again as often as it may be)"


def due_words(job: Job, due: Due) -> str:
    """What something put off must come before."""
    return _titles(job, due.nodes) if due.kind == "step" else due.text


def duration_words(milliseconds: int) -> str:
    """A length of time in the largest units that fit: `1 h 30 min`."""
    seconds = -(-milliseconds // 1000)
    parts = [
        (seconds // 86400, "d"),
        (seconds // 3600 % 24, "h"),
        (seconds // 60 % 60, "min"),
        (seconds % 60, "s"),
    ]
    return " ".join(f"{number} {unit}" for number, unit in parts if number) or "0 s"


def about_words(item: Item) -> str:
    """What the author says of a fastener: thread, class, how it is assembled, and which of a group is number one."""
    known = [item.thread or "", f"class {item.strength}" if item.strength else ""]
    known.append(f"assembled {_SURFACES[item.surface]}" if item.surface else "")
    known.append(_drag_words(item))
    known.append(f"number 1 is {item.number_one}" if item.number_one else "")
    return ", ".join(word for word in known if word)


def _drag_words(item: Item) -> str:
    """The drag of a self-locking nut, and that the torques shown have it; who added it is said."""
    if item.prevailing is None:
        return ""
    who = "added to each torque here" if item.drag_added else "in each torque as the author wrote it"
    return f"prevailing torque {' '.join(item.prevailing)}, {who}"


_SURFACES: dict[Surface, str] = {
    "dry": "dry", "oiled": "oiled", "anti-seize": "with anti-seize", "locker": "with thread locker"
}  # fmt: skip


def round_words(stage: Stage) -> str:
    """Which share of the torque a round is at, where it is not the whole; or that it is the last pass."""
    if stage.final_pass:
        return ", the last pass: until none turns"
    return f" at {stage.share} %" if stage.share and stage.share != "100" else ""


def tool_words(job: Job, tool: str | None) -> str:
    """The tool a value names: its name and what is written on the one at hand."""
    if not tool:
        return ""
    identity = job.tools.get(tool, "")
    return f"{tool} {identity}" if identity else tool


def subject_named(job: Job, key: str) -> str:
    """What a deviation is about, by its key: an item, a step, a tool, a close-out line, or a debt of a step."""
    procedure = job.procedure
    if key in procedure.item_by_key:
        return procedure.item_by_key[key].label
    kind, _, name = key.partition(":")
    if kind in ("tool", "part", "supply", "document", "person", "condition"):
        return name
    if kind == "line" and name.isdigit() and int(name) < len(procedure.close_out):
        return procedure.close_out[int(name)]
    node = max((each for each in procedure.by_id if each in key), key=len, default="")
    if not node:
        return key
    again = "" if key == node else " (again)"
    return f"{place_of(procedure.by_id[node])}{procedure.by_id[node].title}{again}"


def item_words(job: Job, key: str) -> str:
    """An item by name and place."""
    return job.procedure.item_by_key[key].label


def value_words(held: Held) -> str:
    """A recorded value in a few words: what the wrench was set to or showed first, where that is another number."""
    method = f" {held.method}" if held.method not in ("measured", "text") else ""
    if held.method == "text":
        return held.value
    if held.method == "by feel" and not held.value:
        return "by feel"
    value = f"{number_words(held.value, held.raw)} {held.unit}{method}".strip()
    if held.conformity == "too close":
        value += ", too close to tell with this wrench"
    if not held.wrench_value:
        return value
    between = f" with {held.correction}" if held.correction else ""
    return f"{number_words(held.wrench_value, held.raw)} {held.wrench_unit}{between}, {value}"


_TYPED_DIGITS, _SHOWN_DIGITS = 6, 4
"""Nobody types more digits than the first; a value that was worked out has more, and is shown with the second."""


def number_words(value: str, raw: str = "") -> str:
    """A recorded number as people say it: as it was typed, or in few digits where it was worked out."""
    try:
        number = Decimal(value)
    except InvalidOperation:  # a text reading
        return value
    typed = value in raw.replace(",", ".")
    long = number.is_finite() and len(number.normalize().as_tuple().digits) > _TYPED_DIGITS
    return value if typed or not long else few_digits(value)


def few_digits(value: str) -> str:
    """A number that was worked out, in four significant digits; text that is no number as it is."""
    try:
        return show_number(Context(prec=_SHOWN_DIGITS).plus(Decimal(value)))
    except (InvalidOperation, QuantityError):
        return value


VERB_DONE = {
    "loosens": "Loosen",
    "takes out": "Take out",
    "starts": "Start by hand:",
    "tightens": "Tighten",
    "re-tightens": "Re-tighten",
    "disconnects": "Disconnect",
    "connects": "Connect",
    "puts in": "Put in",
    "takes off": "Take off",
    "puts back": "Put back",
    "fits": "Fit",
    "drains": "Drain",
    "fills": "Fill",
    "opens": "Open",
    "shuts": "Shut",
    "puts on": "Put on",
}
"""Each verb as what to do."""
