"""A table to fill in while a board is traced by eye."""

import csv
import io
import re

from ohmtrail.importers.pin_table._read import COLUMNS
from ohmtrail.importers.pin_table._stages import ENTRY, TEMPLATES, Template
from ohmtrail.netanalysis.circuit import KINDS

__all__ = ["PHASES_MAX", "blank_table"]

#: More phases than any converter on a board has.
PHASES_MAX = 64

_HELP = """\
# A pin a row. Put in what you see: refs and pin numbers as on the board, one net
# name for all points that beep together, values as marked. Delete what is not there,
# copy rows for what there is more of. An empty net is a pin joined to nothing.
# value and kind need to stand only once for a part.
"""


def _substitute(text: str, phase: int, phases: int) -> str:
    return text.replace("@", str(phase) if phases > 1 else "")


def _lines(spec: str, phase: int | None, phases: int) -> list[list[str]]:
    """Return the rows of a specification; ``phase`` None is what all share."""
    rows = []
    stated: set[str] = set()
    for line in spec.splitlines():
        if not line:
            continue
        ref, kind, value, *pins = line.split()
        if phase is not None and phases > 1:
            letters, number = re.fullmatch(r"(\D+)(\d+)", ref).groups()  # type: ignore[union-attr]
            ref = f"{letters}{phase}{int(number):02}"
        for item in pins:
            pin, net = item.split("=", 1)
            number, _, name = pin.partition(":")
            first = ref not in stated
            stated.add(ref)
            rows.append(
                [
                    ref,
                    number,
                    _substitute(net, phase or 1, phases),
                    name,
                    value if first and value != "-" else "",
                    kind if first else "",
                ]
            )
    return rows


def _sections(template: Template, phases: int) -> list[tuple[str, list[list[str]]]]:
    pwm = " ".join(
        f"{3 + n}:PWM{n}=PWM{n if phases > 1 else ''}" for n in range(1, phases + 1)
    )
    sections = [
        (f"phase {n}" if phases > 1 else "", _lines(template.phase, n, phases))
        for n in range(1, phases + 1)
    ]
    shared = template.shared.replace("{pwm}", pwm)
    if shared:
        sections.append(("shared" if phases > 1 else "", _lines(shared, None, phases)))
    return sections


def blank_table(stage: str | None = None, phases: int = 1) -> str:
    """Return a typed table to fill in.

    Its nets carry plausible names and its stage is already that stage, so that it
    can be tried at once; values are left empty but for shunts.

    Parameters
    ----------
    stage : str, optional
        A stage kind ("synchronous buck"); without one, the table has the power
        entry alone.
    phases : int
        How many of the stage; each gets its own rows, with the phase's number
        first in its refs.  Of "full bridge leg" each is a bridge of two legs.

    Returns
    -------
    str
        CSV with comments, a header, and a line feed after each row.

    Raises
    ------
    ValueError
        If there is no such stage kind, or phases is not from 1 to `PHASES_MAX`.

    Examples
    --------
    >>> print(blank_table().splitlines()[-1])
    C1,2,GND,,,
    """
    if stage is not None and stage not in TEMPLATES:
        raise ValueError(f"no stage kind {stage!r}; there are {', '.join(TEMPLATES)}")
    if not 1 <= phases <= PHASES_MAX:
        raise ValueError(f"found {phases} phases, expected 1 to {PHASES_MAX}")
    if stage is None:
        sections = [("", _lines(ENTRY, None, 1))]
    else:
        sections = _sections(TEMPLATES[stage], phases)
    out = io.StringIO()
    out.write(f"# {stage or 'power entry'}\n{_HELP}# kinds: {' '.join(KINDS)}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for title, rows in sections:
        if title:
            out.write(f"# {title}\n")
        writer.writerows(rows)
    return out.getvalue()
