"""Ohms as people type them on the command line."""

import math
import re

import click

__all__ = ["read_ohms"]


def read_ohms(
    ctx: click.Context, param: click.Parameter, text: str | None
) -> float | None:
    """Read "0.9", "0.9R", "12R6", "4k7", "420k", "OL"."""
    if text is None:
        return None
    plain = text.strip().removesuffix("Ω").removesuffix("ohms").removesuffix("ohm")
    plain = plain.strip()
    if plain.upper() == "OL":
        return math.inf
    scale = {"": 1.0, "R": 1.0, "r": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "m": 1e-3}
    for pattern in (r"(\d+)([RrkKM])(\d+)", r"(\d+\.?\d*|\.\d+) ?([RrkKMm]?)()"):
        match = re.fullmatch(pattern, plain)
        if match is not None:
            digits = f"{match[1]}.{match[3]}" if match[3] else match[1]
            return float(digits) * scale[match[2]]
    from ohmtrail.cli._units import quantity

    ohms = quantity(text, "ohm")
    if ohms is not None and ohms >= 0.0:
        return ohms
    raise click.BadParameter(
        f"found {text!r}, expected ohms such as 0.9, 12R6, 4k7 or OL", ctx, param
    )
