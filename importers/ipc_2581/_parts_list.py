"""``<Bom>``: values, descriptions, what is fitted."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import find

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Listed", "read_parts_list"]

_VALUE_NAMES = ("value", "comment")


@dataclass(frozen=True, slots=True)
class Listed:
    """One reference of a bill of materials."""

    value: str
    description: str
    package: str
    fitted: bool
    #: Marked as not populated, but in a list of documents: left out, maybe fitted.
    left_out: bool
    fields: tuple[tuple[str, str], ...]


def _texts(item: "Element") -> dict[str, str]:
    """Return the characteristics of an item by name."""
    found: dict[str, str] = {}
    for holder in find(item, "Characteristics"):
        for kind in ("Textual", "Measured"):
            prefix = kind[0].lower() + kind[1:]
            for one in find(holder, kind):
                name = one.get(f"{prefix}CharacteristicName", "")
                text = one.get(f"{prefix}CharacteristicValue", "")
                unit = one.get("engineeringUnitOfMeasure", "")
                if name and text:
                    found.setdefault(name, f"{text} {unit}".strip())
    return found


def read_parts_list(bom: "Element") -> dict[str, Listed]:
    """Return what a ``<Bom>`` says about each reference; O(size).

    A reference listed twice is taken as listed first; it is fitted if it is so
    anywhere.  KiCad marks what is left out of the list, a test point or a resistor,
    as not populated too, with the category DOCUMENT: such parts count as fitted.
    """
    listed: dict[str, Listed] = {}
    for item in find(bom, "BomItem"):
        texts = _texts(item)
        value = next(
            (texts[name] for name in texts if name.casefold() in _VALUE_NAMES), ""
        )
        fields = [
            (name, text)
            for name, text in texts.items()
            if name.casefold() not in _VALUE_NAMES
        ]
        number = item.get("OEMDesignNumberRef", "")
        if number:
            fields.append(("OEMDesignNumber", number))
        document = item.get("category", "").upper() == "DOCUMENT"
        for ref in find(item, "RefDes"):
            name = ref.get("name", "")
            populate = ref.get("populate", "true").strip().lower()
            left_out = populate in ("false", "0") and document
            fitted = populate not in ("false", "0") or document
            known = listed.get(name)
            if known is not None and (known.fitted or not fitted):
                continue
            listed[name] = Listed(
                value or (known.value if known else ""),
                item.get("description", ""),
                ref.get("packageRef", ""),
                fitted,
                left_out,
                tuple(fields),
            )
    return listed
