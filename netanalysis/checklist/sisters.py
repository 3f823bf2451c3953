"""Sister stages: phases whose readings belong beside each other."""

from collections.abc import Iterable

from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.circuit import Stage

__all__ = ["beside_each_other", "sister_groups"]

_PHASED = ("synchronous buck", "buck", "boost", "synchronous boost", "integrated buck")
_LEGS = ("half bridge", "full bridge leg")


def _shape(stage: Stage) -> tuple[object, ...]:
    shape = (stage.kind, len(stage.high_side), len(stage.low_side))
    if stage.kind in _PHASED and (stage.output_rail or stage.output) is not None:
        return (*shape, stage.input_rail, stage.output_rail or stage.output)
    if stage.kind in _LEGS:
        return (*shape, stage.input_rail or stage.input, stage.controller)
    return (*shape, stage.id)


def sister_groups(stages: Iterable[Stage]) -> tuple[tuple[Stage, ...], ...]:
    """Group stages of one shape that share their rails, in the order given."""
    groups: dict[tuple[object, ...], list[Stage]] = {}
    for stage in stages:
        groups.setdefault(_shape(stage), []).append(stage)
    return tuple(tuple(group) for group in groups.values())


def beside_each_other(lists: list[list[Step]]) -> list[Step]:
    """Merge the steps of sister stages row by row, each stage's order kept.

    Rows are matched by `Step.row`; a row that one stage lacks is taken up where
    the others have it.
    """
    by_row = [{step.row: step for step in steps} for steps in lists]
    merged: list[Step] = []
    done: set[str] = set()
    position = [0] * len(lists)
    for number, steps in enumerate(lists):
        for step in steps:
            if step.row in done:
                continue
            done.add(step.row)
            # Rows that sisters have before this one and that no list had yet.
            for other in range(number + 1, len(lists)):
                index = next(
                    (i for i, s in enumerate(lists[other]) if s.row == step.row), -1
                )
                for between in lists[other][position[other] : max(index, 0)]:
                    if between.row not in done and not any(
                        between.row in rows for rows in by_row[:other]
                    ):
                        done.add(between.row)
                        merged += [r[between.row] for r in by_row if between.row in r]
                position[other] = max(position[other], index + 1)
            merged += [rows[step.row] for rows in by_row if step.row in rows]
    return merged
