"""A drawing as SVG text: no scripts, no outside assets, all names escaped."""

from html import escape

from ohmtrail.cli.render.drawing import Circle, Drawing, Item, Line, Polyline, Rect
from ohmtrail.cli.render.plain import shown

__all__ = ["svg_text"]

_COLOURS = {"": "none", "white": "#fff", "grey": "#ddd", "black": "#000"}
_FONT = "Helvetica, Arial, 'Liberation Sans', sans-serif"


def _n(value: float) -> str:
    """Return a number with three places at most: a thousandth of a millimetre."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _stroke(stroke_mm: float, dashed: bool) -> str:
    if not stroke_mm:
        return ' stroke="none"'
    dash = f' stroke-dasharray="{_n(stroke_mm * 5)} {_n(stroke_mm * 4)}"'
    return f' stroke-width="{_n(stroke_mm)}"{dash if dashed else ""}'


def _item(item: Item) -> str:
    if isinstance(item, Line):
        ends = (
            f'x1="{_n(item.x1_mm)}" y1="{_n(item.y1_mm)}" '
            f'x2="{_n(item.x2_mm)}" y2="{_n(item.y2_mm)}"'
        )
        return f"<line {ends}{_stroke(item.stroke_mm, item.dashed)}/>"
    if isinstance(item, Polyline):
        name = "polygon" if item.closed else "polyline"
        points = " ".join(f"{_n(x)},{_n(y)}" for x, y in item.points_mm)
        fill = _COLOURS[item.fill]
        look = f' fill="{fill}"{_stroke(item.stroke_mm, item.dashed)}'
        return f'<{name} points="{points}"{look}/>'
    if isinstance(item, Rect):
        box = (
            f'x="{_n(item.x_mm)}" y="{_n(item.y_mm)}" '
            f'width="{_n(item.width_mm)}" height="{_n(item.height_mm)}"'
        )
        look = f' fill="{_COLOURS[item.fill]}"{_stroke(item.stroke_mm, item.dashed)}'
        return f"<rect {box}{look}/>"
    if isinstance(item, Circle):
        ring = f'cx="{_n(item.x_mm)}" cy="{_n(item.y_mm)}" r="{_n(item.radius_mm)}"'
        look = f' fill="{_COLOURS[item.fill]}"{_stroke(item.stroke_mm, False)}'
        return f"<circle {ring}{look}/>"
    at = f'x="{_n(item.x_mm)}" y="{_n(item.y_mm)}" font-size="{_n(item.size_mm)}"'
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    bold = ' font-weight="bold"' if item.bold else ""
    fill = _COLOURS[item.ink]
    text = escape(shown(item.text))
    return f'<text {at}{anchor}{bold} fill="{fill}" stroke="none">{text}</text>'


def svg_text(drawing: Drawing) -> str:
    """Return a drawing as one SVG element, which stands alone or within a page.

    Parameters
    ----------
    drawing : Drawing
        Millimetres become millimetres on paper.

    Returns
    -------
    str
        Ends in a line feed.  Control characters in names are written out.
    """
    title = escape(shown(drawing.title))
    width, height = _n(drawing.width_mm), _n(drawing.height_mm)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{title}" '
        f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}" '
        f'font-family="{_FONT}" fill="none" stroke="#000" '
        'stroke-linejoin="round" stroke-linecap="round">',
        f"<title>{title}</title>",
        f'<rect width="{width}" height="{height}" fill="#fff" stroke="none"/>',
    ]
    lines += [_item(item) for item in drawing.items]
    lines.append("</svg>")
    return "\n".join(lines) + "\n"
