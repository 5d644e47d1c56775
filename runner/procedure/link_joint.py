"""What is said of a fastener's joint, as decimal text; and whether its thread and class are known by these names."""

from runner.procedure import source
from runner.procedure.link_bands import decimal_text
from runner.procedure.link_report import Report
from runner.quantities import Band, Quantity, QuantityError, convert


def friction_text(band: Band | None) -> tuple[str, str] | None:
    """Both limits of the friction."""
    if band is None or band.low is None or band.high is None:
        return None
    return decimal_text(band.low), decimal_text(band.high)


def prevailing_text(torque: Quantity | None) -> tuple[str, str] | None:
    """The torque of a self-locking thread, in the unit the author wrote."""
    return None if torque is None else (decimal_text(torque.value), torque.unit)


def grip_text(item: source.Item, report: Report) -> str | None:
    """The clamped length in mm."""
    if item.grip is None:
        return None
    try:
        return decimal_text(convert(item.grip.value, item.grip.unit, "mm"))
    except QuantityError as error:
        report.error(item.mark, "quantity", f'"grip": {error}')
        return None


def check_names(item: source.Item, report: Report) -> None:
    """Remark on a thread or class that nothing is known of: the procedure runs, but its torques are not judged.

    Both were free text before they meant anything, so what cannot be read is no error.
    """
    if item.thread is None and item.strength is None:
        return
    from runner.joint.strength import StrengthError, strength  # noqa: PLC0415 - tables that few starts need
    from runner.joint.threads import ThreadError, parse_thread  # noqa: PLC0415 - as above

    name, rule = item.thread, "thread"
    try:
        diameter = None if item.thread is None else parse_thread(item.thread.text).d
        name, rule = item.strength, "class"
        if item.strength is not None and diameter is not None:
            strength(item.strength.text, diameter)
    except (ThreadError, StrengthError) as error:
        assert name is not None
        message = f'{rule} "{name.text}" {error.because}, so torques on it are not judged'
        report.remark(
            name.mark, "warning", rule, message,
            length=len(name.text), expected=error.expected, near=error.near,
        )  # fmt: skip
