"""Tools: counted in, changed, with or without an extension, counted out."""

from decimal import Decimal

from runner.job import actions as a
from runner.job import events as e
from runner.job.aiming import against
from runner.job.at_gate import asked, not_now
from runner.job.draft import Draft
from runner.job.refusal import Refusal
from runner.joint.setting import SettingError, applied_torque
from runner.joint.wrench import Wrench


def count_in(draft: Draft, action: a.CountIn) -> Refusal | None:
    """A tool lies ready; one of the toolbox must be fit for what it is asked for."""
    wanted = asked(draft)
    if wanted.kind != "prepare" or f"tool:{action.tool}" not in {o.key for o in wanted.options}:
        return not_now(wanted)
    refused = unfit(draft, action.tool, action.wrench)
    if refused is not None:
        return refused
    identity = action.wrench.label if action.wrench else action.identity.strip()
    draft.add(e.CountedIn(tool=action.tool, identity=identity, wrench=action.wrench))
    return None


def unfit(draft: Draft, tool: str, wrench: Wrench | None) -> Refusal | None:
    """What speaks against a wrench, and that only a deviation gets past it."""
    why = against(draft.job, tool, wrench, draft.stamp) if wrench else ""
    return Refusal(why, "take another one, or deviate with a reason (unfit tool)") if why else None


def count_out(draft: Draft, action: a.CountOut) -> Refusal | None:
    """A tool is back."""
    wanted = asked(draft)
    if wanted.kind != "close out" or f"tool:{action.tool}" not in {o.key for o in wanted.options}:
        return not_now(wanted)
    draft.add(e.CountedOut(tool=action.tool))
    return None


def change_tool(draft: Draft, action: a.ChangeTool) -> Refusal | None:
    """From here on another tool is in hand; what was entered keeps the old one."""
    job = draft.job
    if action.tool not in job.tools:
        return Refusal("no tool of that name was counted in", f"say one of: {', '.join(job.tools) or 'none'}")
    identity = action.wrench.label if action.wrench else action.identity.strip()
    if not identity or not action.reason.strip():
        return Refusal("a change of tool names the new one and a reason", "say which, and why")
    if action.wrench == job.wrenches.get(action.tool) and identity == job.tools[action.tool]:
        return Refusal(f"{identity} is in hand already", "go on with it, or name another one")
    refused = unfit(draft, action.tool, action.wrench)
    if refused is not None:
        return refused
    draft.add(
        e.ToolChanged(tool=action.tool, identity=identity, reason=action.reason.strip(), wrench=action.wrench)
    )
    return None


def fit_extension(draft: Draft, action: a.FitExtension) -> Refusal | None:
    """An extension is put on the wrench in hand, or taken off; its settings are corrected from here on."""
    job = draft.job
    wrench = job.wrenches.get(action.tool)
    if wrench is None:
        known = ", ".join(job.wrenches) or "none of the toolbox is in hand"
        return Refusal(
            f"nothing is known of {action.tool or 'that tool'} that a correction needs",
            f"pick it from the toolbox; known: {known}",
        )
    if action.extension is None:
        if action.tool not in job.extensions:
            return Refusal(f"there is no extension on {wrench.label}", "go on")
    else:
        try:
            applied_torque(Decimal(wrench.high), wrench, action.extension)
        except SettingError as error:
            return Refusal(f"{error.found} {error.because}", f"{error.expected}; or another wrench")
    draft.add(e.ExtensionFitted(tool=action.tool, extension=action.extension))
    return None
