"""``ohmtrail part``: a part's pins, mates and stages."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("part")
@board_options()
@click.argument("ref", metavar="REF")
def command(request: Request, ref: str) -> None:
    """List the pins of part REF, what is in parallel with it, and its stages."""
    from ohmtrail.netanalysis.memberships import parallel_mates, stages_of_part
    from ohmtrail.netanalysis.probe_points import find_part

    circuit = load_circuit(request)
    part = find_part(circuit.board, ref)
    mates = parallel_mates(circuit, part.ref)
    stages = tuple(stage.id for stage in stages_of_part(circuit, part.ref))
    if request.json:
        from ohmtrail.cli._json import dump, part_json

        say(dump(part_json(circuit, part, mates, stages)))
        return
    from ohmtrail.cli._value_json import value_line
    from ohmtrail.cli.render.tables import listing, print_table, wrap

    kind = circuit.kinds.get(part.ref)
    words = [part.ref, part.value, "" if part.fitted else "(not fitted)"]
    say(wrap("  ".join(word for word in words if word)))
    if kind is not None:
        sort = f" ({kind.sort})" if kind.sort else ""
        say(wrap(f"{kind.kind}{sort}: {kind.because}"))
    if told := value_line(part, "other" if kind is None else kind.kind):
        say(wrap(told))
    if part.x_mm is not None and part.y_mm is not None:
        place = f"at x {part.x_mm:.1f} mm, y {part.y_mm:.1f} mm, {part.side}"
        say(place.rstrip(" ,"))
    rows = []
    for pin in part.pins:
        role = circuit.roles.get((part.ref, pin.number))
        text = "" if role is None else role.role + (" (inferred)" * role.inferred)
        rows.append((pin.number, pin.name, text, pin.net or "not connected"))
    print_table(("pin", "name", "role", "net"), rows)
    say(listing("in parallel with:", mates, "nothing"))
    for stage in stages:
        say(wrap(f"in stage: {stage}", indent="  ", first=""))
