"""What every checklist says before the first step."""

__all__ = ["CAUTIONS"]

CAUTIONS = (
    "Adapter, battery and coin cell off before any resistance or diode reading.",
    "Discharge big capacitors through a rated resistor, then measure them: under 1 V.",
    "Mains primary side: only if you are licensed and equipped for it, by local rules.",
    "Lithium packs: disconnect first; never heat, pierce or short one.",
    "Wear a wrist strap; extract fumes; hot boards and parts burn.",
    "Eye protection at first power-up of a repaired power stage and while injecting.",
    "Set the current limit before you connect a supply.",
    "Never inject above the lowest nominal voltage of all rails the short may reach.",
    "No list proves a board safe to power: what was not measured stays unknown.",
)
