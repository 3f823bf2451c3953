"""What of a plan the sheets do not show."""

from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.cli.marks.plan import PLUS, MarkPlan
from ohmtrail.importers._drawn import DrawnSheet

__all__ = ["with_what_lacks"]

#: So much of what the sheets lack is named.
_NAMED = 12


def with_what_lacks(plan: MarkPlan, sheets: Iterable[DrawnSheet]) -> MarkPlan:
    """Return the plan with a line in its note on what the sheets do not show.

    Notes
    -----
    O(pins of the sheets + probes).
    """
    symbols = [one for sheet in sheets for one in sheet.symbols if not one.power]
    refs = {ref for one in symbols for ref in one.refs}
    pads = {
        (ref, pin.number) for one in symbols for ref in one.refs for pin in one.pins
    }
    lacking = [one.ref for one in plan.suspects if one.ref not in refs]
    lacking += [
        f"step {one.number}{'+' if one.role == PLUS else '-'}"
        for one in plan.probes
        if (one.ref, one.pin) not in pads
    ]
    if not lacking:
        return plan
    more = f" and {len(lacking) - _NAMED} more" if len(lacking) > _NAMED else ""
    line = f"Not on these sheets: {', '.join(lacking[:_NAMED])}{more}"
    return replace(plan, note=(*plan.note[:-1], line, plan.note[-1]))
