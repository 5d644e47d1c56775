"""Random small procedures that can be linked and carried to their end: the sheet, and motifs that write on it.

A motif is a few steps that belong together (a fastener from loosened to final, a question with ways, a put-off
with its window). What a motif opens it closes, so that the lawful way through leads to a seal.
"""

import json
from collections.abc import Callable
from typing import Any

from runner.procedure.link_whole import link
from runner.procedure.linked import Procedure
from runner.procedure.reader import read_procedure
from tests.job.properties.dice import Dice

Step = dict[str, Any]
Steps = list[Step]

DANGER = {"hazard": "It can fall.", "consequence": "crushing", "avoid": "Stay clear."}
TWO_STATE = [
    ("connection", "disconnects", "connects"),
    ("aid", "puts in", "takes out"),
    ("cover", "takes off", "puts back"),
    ("fluid", "drains", "fills"),
    ("valve", "opens", "shuts"),
    ("lock", "puts on", "takes off"),
]


class Sheet:
    """A procedure in the making. `support` is what the main line has set it to here."""

    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.items: dict[str, Any] = {}
        self.parts: list[Any] = []
        self.used: dict[str, Any] = {}
        self.support = "on wheels"
        self.sided = False
        self.chosen = dice.chance(30)
        self.variant = dice.chance(30)
        self.battery = dice.chance(30)
        self.lifting = self.door = False
        self.detours = dice.chance(50)
        self.gaps: list[str] = []
        self.asked: list[tuple[str, str]] = []
        self.number = 0

    def name(self, word: str) -> str:
        """A name that was not used yet."""
        self.number += 1
        return f"{word}-{self.number}"

    def item(self, word: str, about: dict[str, Any]) -> str:
        """Declare an item, at each side inside a repeat."""
        name = self.name(word)
        self.items[name] = about | ({"each": "side"} if self.sided else {})
        if self.dice.chance(15):
            self.items[name]["critical"] = "true"
        return name

    def step(self, word: str, **about: Any) -> Step:
        """A step with a name of its own, perhaps with a notice, a hold point, a reading or a wait."""
        name = self.name(word)
        step: Step = {"step": name}
        if not ({"ask"} & set(about)):
            step["do"] = f"Do {name}."
        step |= {key.replace("_", " "): value for key, value in about.items()}
        if self.dice.chance(20):
            step[self.dice.pick(("danger", "warning", "caution", "notice"))] = DANGER
        if self.dice.chance(6):
            step["critical"] = "true"
        return step

    def data(self, steps: Steps) -> dict[str, Any]:
        """The whole file."""
        whole: dict[str, Any] = {
            "format": "1", "procedure": "generated", "title": "A generated job", "revision": "1",
            "fits": "an invented car",
            "sources": ["Invented data"], "people": {"performer": "1", "checker": "1"},
            "conditions": {"support": self._support()},
            "tolerance": {"torque": "±4 %", "angle": "±5°"},
            "tools": [
                {"name": "torque wrench", "covers": "5 to 200 N·m"}, {"name": "socket"}, {"name": "gap gauge"}
            ],
            "parts": self.parts or "none", "supplies": "none", "items": self.items, "steps": steps,
            "close out": ["No tool left over"], "follow up": [{"what": "Look again", "within": "7 days"}],
            "make safe": {"raised": ["Leave it on stands"], "on wheels": ["Chock the wheels"]},
        }  # fmt: skip
        if self.battery:
            battery = {"at start": ["connected", "disconnected"]}
            battery["changes"] = {"connected": ["disconnected"], "disconnected": ["connected"]}
            whole["conditions"]["battery"] = battery
        sides = ["left", "right"]
        whole["locations"] = {"side": {"choose at start": sides} if self.chosen else sides}
        if self.variant:
            whole["variants"] = {"brakes": ["discs", "drums"]}
        if self.door:
            doors = {"shut": ["ajar"], "ajar": ["open", "shut"], "open": ["shut"]}
            whole["conditions"]["door"] = {"at start": "shut", "changes": doors}
        if not self.items:
            del whole["items"]
        return whole

    def _support(self) -> dict[str, Any]:
        about: dict[str, Any] = {
            "at start": "on wheels",
            "changes": {
                "on wheels": ["raised"],
                "raised": ["on wheels", "at ride height"],
                "at ride height": ["raised", "on wheels"],
            },
            "hazardous": ["raised"],
        }
        if self.detours and self.lifting:
            about["getting there"] = {"raised": "lift", "on wheels": "lower"}
        return about


def fastener(sheet: Sheet) -> Steps:
    """Loosened, out, back, tightened in rounds; the last stage perhaps only on wheels or put off until then."""
    dice = sheet.dice
    count = dice.pick((1, 1, 2, 3))
    stages: list[dict[str, Any]] = [
        {"torque": "60 N·m", "order": dice.pick(("star", "around", "in line", "from the middle"))}
    ]
    if dice.chance(20):
        stages.insert(0, {"snug": "hand tight"})
    if dice.chance(60):
        stages.append(dice.pick(({"angle": "90°"}, {"torque": "120 N·m", "order": "star"})))
    if dice.chance(25):
        torque = dice.pick([stage for stage in stages if "torque" in stage])
        torque["torque"] = dice.pick(("60 N·m", "45 lbf·ft", "120 N·m"))
        torque["method"] = dice.pick((["click"], ["measured"]))
    later = ""
    if len(stages) > 1 and sheet.support == "raised":
        later = dice.pick(("", "on wheels", "put off"))
    if later:
        stages[-1]["only when"] = {"support": "on wheels"}
    about: dict[str, Any] = {"kind": "fastener", "count": str(count), "tighten": stages}
    if dice.chance(40):
        about["new"] = "every time"
    bolts = sheet.item("bolts", about)
    steps = [sheet.step("loosen", loosens=[bolts])]
    if dice.chance(70):
        steps.append(sheet.step("take", takes_out=[bolts]))
    steps.append(sheet.step("start", starts=[bolts], needs={bolts: ["out", "loosened"]}))
    if not later:
        tight = sheet.step("tighten", tightens=[bolts])
        if dice.chance(30):
            tight["hold point"] = {"released by": "checker", "asks": "Is it tight?"}
        return [*steps, tight, *_again(sheet, bolts)]
    first = "stage 1" if len(stages) == 2 else f"stages 1 to {len(stages) - 1}"
    steps.append(sheet.step("round", tightens={bolts: first}))
    last = sheet.step("last", tightens={bolts: "the rest"})
    if later == "on wheels" and dice.chance(60):
        return [*steps, last]  # blocked here: somebody has to put it off, or leave it undone
    last["put off"] = {
        "until": {"support": "on wheels"},
        "before": "end",
        "because": "it must stand on its wheels",
    }
    return [*steps, last]


def _again(sheet: Sheet, bolts: str) -> Steps:
    return [sheet.step("re", **{"re-tightens": [bolts]})] if sheet.dice.chance(20) else []


def pair(sheet: Sheet) -> Steps:
    """An item of two states, opened, something done, closed."""
    kind, opens, closes = sheet.dice.pick(TWO_STATE)
    name = sheet.item(kind.replace(" ", "-"), {"kind": kind})
    return [
        sheet.step("open", **{opens: [name]}),
        *(inner(sheet) if sheet.dice.chance(50) else []),
        sheet.step("close", **{closes: [name]}),
    ]


def fitted(sheet: Sheet) -> Steps:
    """A part taken out and a new one fitted."""
    about = {"kind": "fitted part"} | ({"new": "every time"} if sheet.dice.chance(60) else {})
    name = sheet.item("seal", about)
    return [sheet.step("out", takes_out=[name]), sheet.step("fit", fits=[name])]


def plain(sheet: Sheet) -> Steps:
    """One thing to do, perhaps with a wait, a time limit from the one before, or a hold point."""
    dice = sheet.dice
    one, two = sheet.step("clean"), sheet.step("apply")
    if dice.chance(40):
        two["wait"] = "10 min"
    if dice.chance(40):
        two["in time"] = {"from": one["step"], "within": "5 min", "warn at": "3 min"}
        if dice.chance(50):
            two["in time"]["too late"] = [
                sheet.step("wipe"),
                {"again": one["step"], "at most": "2", "then": "go on"},
            ]
    if dice.chance(30):
        two["hold point"] = {"released by": "checker", "asks": "Is it right?"}
        if dice.chance(50):
            two["hold point"]["if refused"] = [sheet.step("redo")]
    return [one, two]


def readings(sheet: Sheet) -> Steps:
    """Readings with a band, several times, blind, as text; a value worked out from two of them."""
    dice = sheet.dice
    one, two = sheet.name("gap"), sheet.name("gap")
    first: dict[str, Any] = {"what": "Gap one", "name": one, "unit": "mm", "band": "1.4 to 2.2 mm"}
    second: dict[str, Any] = {"what": "Gap two", "name": two, "unit": "mm", "at most": "3 mm"}
    if dice.chance(30):
        second["second reading"] = "blind"
    if dice.chance(25):
        first["critical"] = "true"
    rows = [first, second]
    if dice.chance(30):
        rows.append({"what": "Number on the bag", "name": sheet.name("bag"), "text": "batch number"})
    if dice.chance(30):
        rows.append(
            {"what": "Runout", "name": sheet.name("runout"), "unit": "mm", "times": "2", "at most": "0.1 mm"}
        )
    steps = [sheet.step("measure", read=rows, tools=["gap gauge"])]
    if dice.chance(50):
        formula = dice.pick(("abs({0} - {1})", "max({0}, {1}) + min({0}, {1})", "mean({0}, {1})"))
        judged: dict[str, Any] = {
            "what": "Worked out",
            "name": sheet.name("sum"),
            "is": formula.format(one, two),
        }
        steps.append(sheet.step("work", work_out=[{**judged, "unit": "mm", "at most": "3 mm"}]))
    return steps


def sorted_reading(sheet: Sheet) -> Steps:
    """A reading that falls into named bands, one of which leads to more work or to a stop."""
    dice = sheet.dice
    above = dice.pick(("stop", "go on", [sheet.step("skim")]))
    bands = {"at most 0.05 mm": "go on", "up to 0.10 mm": [sheet.step("polish")], "above": above}
    row = {"what": "Runout", "name": sheet.name("runout"), "unit": "mm", "sorted": bands}
    return [sheet.step("gauge", read=[row])]


def question(sheet: Sheet) -> Steps:
    """A question or look-for whose ways nest and rejoin, lead back, or stop."""
    dice = sheet.dice
    before = sheet.step("look")
    asks = sheet.step("ask", ask="It is")
    other: Any = dice.pick(("go on", "stop", "nest", "back"))
    if other == "nest":
        other = inner(sheet)
    elif other == "back":
        then = dice.pick(("go on", "stop"))
        other = [
            sheet.step("mend"),
            {"again": before["step"], "at most": dice.pick(("1", "2")), "then": then},
        ]
    asks["answers"] = {"whole": "go on", "torn": other}
    if dice.chance(40):
        del asks["ask"]
        asks |= {"do": "Push it.", "look for": "How does it behave?"}
    after = []
    if dice.chance(50):
        after = [sheet.step("grease", only_if={asks["step"]: "torn"})]
    return [before, asks, *after]


def put_off(sheet: Sheet) -> Steps:
    """A step that waits: for another step, for a time after one, or until a later one is reached."""
    dice = sheet.dice
    lead = sheet.item("lead", {"kind": "connection"})
    first, marker, ready = sheet.step("off", disconnects=[lead]), sheet.step("marker"), sheet.step("ready")
    waits = sheet.step("on", connects=[lead])
    if dice.chance(30):
        waits["read"] = [{"what": "Voltage", "name": sheet.name("volt"), "unit": "mm", "at most": "9 mm"}]
    until: dict[str, Any] = dice.pick(
        ({"step": marker["step"]}, {"time": "20 min", "after": first["step"]}, {"at": marker["step"]})
    )
    before = dice.pick((ready["step"], "end"))
    if before != "end" and dice.chance(50):
        ready["needs"] = {lead: "connected"}
    waits["put off"] = {"until": until, "before": before, "because": "it must rest"}
    if dice.chance(50):
        waits["put off"]["no later than"] = {"time": "2 h", "after": first["step"]}
    return [first, waits, *(plain(sheet) if dice.chance(30) else []), marker, ready]


def lifted(sheet: Sheet) -> Steps:
    """The car raised, worked on, perhaps brought to ride height, and let down again."""
    dice = sheet.dice
    if sheet.support != "on wheels" or sheet.lifting or sheet.sided:
        return plain(sheet)
    sheet.lifting, sheet.support = True, "raised"
    up: Step = {"step": "lift", "do": "Raise it.", "danger": DANGER, "look for": "How does it stand?"}
    up |= {"answers": {"it stays still": "go on", "it rocks": "stop"}, "sets": {"support": "raised"}}
    inside = fastener(sheet) + inner(sheet)
    down: Step = {"step": "lower", "do": "Let it down.", "sets": {"support": "on wheels"}}
    if dice.chance(50):
        waits = sheet.step("settle")
        waits["put off"] = {
            "until": {"support": "at ride height"}, "before": {"support": "on wheels"}, "because": "the rubber",
        }  # fmt: skip
        height = sheet.step("height", needs={"support": "raised"}, sets={"support": "at ride height"})
        inside += [waits, height]
    sheet.support = "on wheels"
    return [up, *inside, down]


def sides(sheet: Sheet) -> Steps:
    """The same at each side."""
    if sheet.sided:
        return plain(sheet)
    sheet.sided = True
    steps = sheet.dice.pick((fastener, pair, put_off))(sheet) + inner(sheet)
    sheet.sided = False
    return [{"each": "side", "steps": steps}]


def variants(sheet: Sheet) -> Steps:
    """Steps that only some work pieces have, by a variant or a condition."""
    if sheet.variant and sheet.dice.chance(60):
        return [{"only for": {"brakes": "drums"}, "steps": plain(sheet)}, sheet.step("both")]
    return [{"only if": {"support": sheet.support}, "steps": plain(sheet)}]


def battery(sheet: Sheet) -> Steps:
    """A condition asked at the start, changed and changed back."""
    if not sheet.battery or sheet.sided:
        return plain(sheet)
    off = sheet.step("cut", sets={"battery": "disconnected"})
    on = sheet.step("power", sets={"battery": "connected"})
    return [off, *inner(sheet), on]


def gamble(sheet: Sheet) -> Steps:
    """A condition that an answer may leave where the next step cannot change it from."""
    if sheet.door or sheet.sided:
        return plain(sheet)
    sheet.door = True
    ask = sheet.step("ask", ask="The door")
    ask["answers"] = {"opens": [sheet.step("ajar", sets={"door": "ajar"})], "sticks": "go on"}
    return [ask, sheet.step("wide", sets={"door": "open"}), sheet.step("slam", sets={"door": "shut"})]


def called(sheet: Sheet) -> Steps:
    """A sub-procedure that takes an item over and closes it."""
    if sheet.sided:
        return plain(sheet)
    about = {"kind": "cover"}
    lid = sheet.name("lid")
    sheet.items[lid] = about
    file = sheet.name("sub")
    sub = Sheet(Dice(sheet.dice.number(0, 9999)))
    sub.number = sheet.number + 1000
    sub.chosen = sub.variant = sub.battery = False
    steps = [*readings(sub), {"step": "shut-lid", "do": "Put it back.", "puts back": [lid]}]
    data = sub.data(steps) | {
        "procedure": file,
        "items": sub.items | {lid: about},
        "takes over": {lid: "off"},
    }
    for key in ("locations", "conditions"):
        del data[key]
    data["tools"], data["parts"] = [{"name": "gap gauge"}], "none"
    del data["make safe"]
    sheet.used[f"{file}.yaml"] = data
    return [sheet.step("lid-off", takes_off=[lid]), {"use": f"{file}.yaml"}]


INNER: tuple[Callable[[Sheet], Steps], ...] = (
    plain,
    readings,
    fitted,
    question,
    put_off,
    sorted_reading,
    pair,
)
MOTIFS: tuple[Callable[[Sheet], Steps], ...] = (
    lifted, fastener, sides, put_off, question, readings, plain, fitted, pair, sorted_reading, variants, battery,
    called, gamble,
)  # fmt: skip


def inner(sheet: Sheet) -> Steps:
    """A small motif inside another, or none."""
    return sheet.dice.pick(INNER)(sheet) if sheet.dice.chance(40) else [sheet.step("also")]


def written(dice: Dice, motif: str = "") -> tuple[str, dict[str, str]]:
    """A procedure as YAML text (JSON is YAML) and the files it uses; of one motif only, where one is named."""
    sheet = Sheet(dice)
    steps: Steps = []
    motifs = [made for made in MOTIFS if made.__name__ == motif] or MOTIFS
    for _ in range(dice.number(1, 3)):
        steps += dice.pick(motifs)(sheet)
    files = {name: json.dumps(data, ensure_ascii=False, indent=1) for name, data in sheet.used.items()}
    return json.dumps(sheet.data(steps), ensure_ascii=False, indent=1), files


def linked(text: str, files: dict[str, str]) -> Procedure:
    """The procedure of a text without errors; AssertionError shows what is wrong with it."""
    source, found = read_procedure(text.encode(), "generated.yaml")
    assert source is not None, _told(found, text)
    read = {}
    for name, other in files.items():
        read[name], found = read_procedure(other.encode(), name)
        assert read[name] is not None, _told(found, other)
    procedure, found = link(source, lambda path, mark: read[path])
    assert procedure is not None, _told(found, text)
    return procedure


def _told(found: Any, text: str) -> str:
    return "\n".join(finding.text() for finding in found) + "\n" + text
