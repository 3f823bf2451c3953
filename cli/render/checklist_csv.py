"""The checklist as CSV: one step a row, for a spreadsheet."""

import csv
import io

from ohmtrail.netanalysis.checklist.model import Checklist

__all__ = ["COLUMNS", "checklist_csv"]

COLUMNS = (
    "n rail phase stage title detail mode plus plus_name minus minus_name low typical "
    "high unit reading source why if_low if_high parts x_mm y_mm side swapped"
).split()


def _cell(value: object) -> object:
    """Keep a spreadsheet from taking a name out of a file for a formula."""
    if isinstance(value, str) and value[:1] in ("=", "@"):
        return f"'{value}"
    return "" if value is None else value


def checklist_csv(checklist: Checklist) -> str:
    """Return the checklist as CSV with a header; line feeds, UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for section in checklist.sections:
        for step in section.steps:
            expect = step.expect
            row = (
                step.n,
                section.rail,
                step.phase,
                step.stage,
                step.title,
                step.detail,
                step.mode,
                step.plus,
                step.plus_name,
                step.minus,
                step.minus_name,
                expect.low if expect is not None else None,
                expect.typical if expect is not None else None,
                expect.high if expect is not None else None,
                expect.unit if expect is not None else None,
                None,
                step.source,
                step.why,
                step.if_low,
                step.if_high,
                " ".join(step.parts),
                step.x_mm,
                step.y_mm,
                step.side,
                step.swapped,
            )
            writer.writerow([_cell(value) for value in row])
    return out.getvalue()
