"""Numbers beside points, none on top of another."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from ohmtrail.cli.render.drawing import Item, Line, Rect, Text
from ohmtrail.cli.render.text_width import text_width

__all__ = ["Label", "Labels"]

_AWAY = (0.7, 1.6, 2.8, 4.2, 6.0, 8.0, 10.5)
_TURNS = 16
_PAD = 0.25

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Label:
    """A text that belongs to a point on paper."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = 2.8
    bold: bool = True


def _overlap(a: Box, b: Box) -> float:
    width = min(a[2], b[2]) - max(a[0], b[0])
    height = min(a[3], b[3]) - max(a[1], b[1])
    return width * height if width > 0 and height > 0 else 0.0


class Labels:
    """Finds room for labels within a frame.

    Parameters
    ----------
    frame : (left, top, right, bottom)
        No label leaves it.
    """

    def __init__(self, frame: Box) -> None:
        self.frame = frame
        self.taken: list[Box] = []
        self.leaders: list[tuple[float, float, float, float]] = []

    def keep_free(self, left: float, top: float, right: float, bottom: float) -> None:
        """Let no label cover a box."""
        self.taken.append((left, top, right, bottom))

    def is_free(self, box: Box) -> bool:
        """Whether a box lies within the frame and covers nothing that is taken."""
        return self._inside(box) and not any(
            _overlap(box, other) for other in self.taken
        )

    def covered(self, box: Box) -> float:
        """Return how much of what is taken a box covers, in square millimetres."""
        return sum(_overlap(box, other) for other in self.taken)

    def names(
        self, parts: Iterable[tuple[str, Box]], *, least: float, most: float
    ) -> list[Text]:
        """Return names of parts where there is room: in the part, else beside it.

        Parameters
        ----------
        parts : iterable of (name, (x, y, width, height))
            Boxes on paper.
        least, most : float
            Size of the type.
        """
        found = []
        for name, (x, y, width, height) in parts:
            one_mm = max(text_width(name, 1.0), 0.1)
            inside = min(most, 0.8 * height, 0.92 * width / one_mm)
            tries = []
            middle = x + width / 2
            if inside >= least:
                tries += [
                    (middle, y + height * part + 0.36 * inside, inside)
                    for part in (0.5, 0.3, 0.7)
                ]
            small = least * 1.15
            half = one_mm * small / 2 + 0.4
            tries += [
                (middle, y - 0.5, small),
                (middle, y + height + 0.4 + 0.75 * small, small),
                (x + width + half, y + height / 2 + 0.36 * small, small),
                (x - half, y + height / 2 + 0.36 * small, small),
            ]
            for at, base, size in tries:
                wide = one_mm * size / 2
                box = at - wide, base - 0.75 * size, at + wide, base + 0.05 * size
                if self.is_free(box):
                    self.taken.append(box)
                    found.append(Text(at, base, name, round(size, 2), "middle"))
                    break
        return found

    def place(self, labels: Iterable[Label], radius_mm: float = 0.9) -> list[Item]:
        """Return the labels with leaders to their points.

        Parameters
        ----------
        labels : iterable of Label
            The most hemmed in are placed first.
        radius_mm : float
            Of the marks at the points, which no label covers.

        Notes
        -----
        For each label about a hundred places are tried against all that is taken;
        where none is free the one that covers least is used.
        """
        wanted = list(labels)
        for one in wanted:
            self.keep_free(
                one.x_mm - radius_mm,
                one.y_mm - radius_mm,
                one.x_mm + radius_mm,
                one.y_mm + radius_mm,
            )
        crowd = [
            sum(hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) < 8 for b in wanted)
            for a in wanted
        ]
        order = sorted(range(len(wanted)), key=lambda n: (-crowd[n], n))
        below: list[Item] = []
        above: list[Item] = []
        for number in order:
            one = wanted[number]
            box, leader = self._room(one, radius_mm, wanted)
            self.taken.append(box)
            if leader is not None:
                self.leaders.append(leader)
                below.append(Line(*leader, stroke_mm=0.15))
            left, top, right, bottom = box
            above.append(
                Rect(left, top, right - left, bottom - top, stroke_mm=0, fill="white")
            )
            base = (top + bottom) / 2 + 0.36 * one.size_mm
            above.append(
                Text(
                    (left + right) / 2,
                    base,
                    one.text,
                    one.size_mm,
                    "middle",
                    bold=one.bold,
                )
            )
        return below + above

    def _room(
        self, one: Label, radius: float, others: Sequence[Label]
    ) -> tuple[Box, tuple[float, float, float, float] | None]:
        width = text_width(one.text, one.size_mm, bold=one.bold) + 2 * _PAD
        height = 0.8 * one.size_mm + 2 * _PAD
        best: tuple[float, Box, float] | None = None
        for away in _AWAY:
            for turn in range(_TURNS):
                angle = 2 * pi * turn / _TURNS
                ux, uy = cos(angle), sin(angle)
                # The box touches a circle around the mark at this angle.
                x = one.x_mm + ux * (radius + away) + ux * width / 2
                y = one.y_mm + uy * (radius + away) + uy * height / 2
                box = x - width / 2, y - height / 2, x + width / 2, y + height / 2
                if not self._inside(box):
                    continue
                covered = self.covered(box)
                cost = covered * 40 + away
                if away > _AWAY[1]:
                    cost += 3.0 * self._crossed(one, (x, y), others, radius)
                if best is None or cost < best[0]:
                    best = cost, box, away
            if best is not None and best[0] <= away:
                break
        if best is None:
            x, y = one.x_mm, one.y_mm
            return (x, y - height, x + width, y), None
        _, box, away = best
        if away <= _AWAY[0]:
            return box, None
        return box, self._leader(one, box)

    def _inside(self, box: Box) -> bool:
        left, top, right, bottom = self.frame
        return box[0] >= left and box[1] >= top and box[2] <= right and box[3] <= bottom

    def _leader(self, one: Label, box: Box) -> tuple[float, float, float, float]:
        """Return a line from the mark to the nearest point of the box."""
        x = min(max(one.x_mm, box[0]), box[2])
        y = min(max(one.y_mm, box[1]), box[3])
        return one.x_mm, one.y_mm, x, y

    def _crossed(
        self,
        one: Label,
        end: tuple[float, float],
        others: Sequence[Label],
        radius: float,
    ) -> int:
        """Count the marks and leaders that a leader would run across."""
        ax, ay = one.x_mm, one.y_mm
        bx, by = end
        dx, dy = bx - ax, by - ay
        long = dx * dx + dy * dy or 1.0
        count = 0
        for other in others:
            if other is one:
                continue
            t = ((other.x_mm - ax) * dx + (other.y_mm - ay) * dy) / long
            if 0 < t < 1:
                px, py = ax + t * dx - other.x_mm, ay + t * dy - other.y_mm
                count += hypot(px, py) < radius
        for cx, cy, ex, ey in self.leaders:
            first = dx * (cy - ay) - dy * (cx - ax)
            second = dx * (ey - ay) - dy * (ex - ax)
            fx, fy = ex - cx, ey - cy
            third = fx * (ay - cy) - fy * (ax - cx)
            fourth = fx * (by - cy) - fy * (bx - cx)
            count += first * second < 0 and third * fourth < 0
        return count
