"""A meter's description in TOML (docs/meter.md) to a `Meter`."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ohmtrail.cli._files import read_file

if TYPE_CHECKING:
    from ohmtrail.netanalysis.network.meter import Meter

__all__ = ["read_meter"]

_TOP = ("name", "lead_ohms", "resistance", "diode", "four_wire")
_OHMS = (
    "full_scale_ohms",
    "test_amps",
    "open_volts",
    "resolution_ohms",
    "accuracy_percent",
)
_DIODE = (
    "test_amps",
    "open_volts",
    "full_scale_volts",
    "resolution_volts",
    "accuracy_percent",
)
#: Counts of a display whose file does not tell its resolution.
_COUNTS = 4000
_ACCURACY_PERCENT = 1.0
#: A description is a page of text.
_BYTES_MAX = 1024 * 1024


class _File:
    """Where things stand in the file, for error lines."""

    def __init__(self, path: Path, text: str) -> None:
        self.path = path
        self._lines: dict[tuple[str, int, str], int] = {}
        table, count = "", {"": 0}
        for number, line in enumerate(text.split("\n"), 1):
            if header := re.match(r"\s*\[\[?\s*([\w-]+)\s*\]", line):
                table = header[1]
                count[table] = count.get(table, -1) + 1
                self._lines[table, count[table], ""] = number
            elif key := re.match(r"\s*([\w-]+)\s*=", line):
                self._lines.setdefault((table, count[table], key[1]), number)

    def fail(self, message: str, table: str = "", k: int = 0, key: str = "") -> Any:
        """Raise the error line, with the line number where it is known."""
        places = ((table, k, key), (table, k, ""), ("", 0, table))
        found = next((self._lines[p] for p in places if p in self._lines), None)
        where = f":{found}" if found else ""
        raise click.ClickException(f"{self.path}{where}: {message}")

    def check_keys(
        self, table: str, k: int, values: dict[str, Any], known: tuple[str, ...]
    ) -> None:
        """Refuse a key that nothing reads."""
        from ohmtrail.netanalysis.nearest import nearest

        for key in values:
            if key not in known:
                near = nearest(key, known)
                hint = f"; did you mean {near[0]}?" if near else ""
                self.fail(
                    f"found {key!r}, expected {', '.join(known)}{hint}", table, k, key
                )

    def number(
        self, values: dict[str, Any], key: str, where: tuple[str, int], default: Any
    ) -> float:
        """Return a number, or the default unless that is None."""
        value = values.get(key, default)
        if value is None:
            name = f" in [{where[0]}]" if where[0] else ""
            self.fail(f"found no {key}{name}, expected one", *where)
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fail(f"found {key} {value!r}, expected a number", *where, key)
        try:
            return float(value)
        except OverflowError:
            return float("inf")


def read_meter(path: Path) -> "Meter":
    """Read a meter file.

    Sections that it lacks are those of the common handheld.

    Raises
    ------
    click.ClickException
        One line with file, line, what was found and what was expected.
    """
    from ohmtrail.netanalysis.network.meter import DEFAULT_METER, Meter, MeterError

    raw = read_file(path, _BYTES_MAX + 1, "--meter")
    if len(raw) > _BYTES_MAX:
        raise click.ClickException(
            f"{path}: found more than {_BYTES_MAX} bytes, expected a meter's "
            "description (--meter)"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise click.ClickException(
            f"{path}:{line}: found bytes that are not UTF-8, expected TOML"
        ) from error
    file = _File(path, text)
    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        found = re.search(r"\(at line (\d+), column \d+\)", str(error))
        where = f":{found[1]}" if found else ""
        if "(at end of document)" in str(error):
            where = f":{text.count(chr(10)) + 1}"
        what = re.sub(r" *\(at .*\)$", "", str(error))
        what = what[:1].lower() + what[1:]
        raise click.ClickException(
            f"{path}{where}: found no TOML: {what}, expected key = value"
        ) from error
    file.check_keys("", 0, values, _TOP)
    name = values.get("name", path.stem)
    if not isinstance(name, str):
        file.fail(f"found name {name!r}, expected a text in quotes", "", 0, "name")
    meter = replace(DEFAULT_METER, name=name)
    lead_ohms = file.number(values, "lead_ohms", ("", 0), DEFAULT_METER.lead_ohms)
    parts: dict[str, Any] = {"lead_ohms": lead_ohms}
    for table in ("resistance", "four_wire"):
        if table in values:
            parts[table] = _ohm_ranges(file, table, values[table])
    if "diode" in values:
        parts["diode"] = _diode(file, values["diode"])
    for key, part in parts.items():
        try:
            changed: dict[str, Any] = {key: part}
            meter = replace(meter, **changed)
        except MeterError as error:
            if key in ("resistance", "four_wire"):
                file.fail(str(error), key)
            file.fail(str(error), "", 0, key)
    assert isinstance(meter, Meter)
    return meter


def _ohm_ranges(file: _File, table: str, ranges: Any) -> tuple[Any, ...]:
    from ohmtrail.netanalysis.network.meter import MeterError, OhmRange

    if isinstance(ranges, dict):
        ranges = [ranges]
    if not isinstance(ranges, list) or not all(isinstance(r, dict) for r in ranges):
        file.fail(f"found {table} = ..., expected [[{table}]]", "", 0, table)
    made = []
    for k, values in enumerate(ranges):
        where = (table, k)
        file.check_keys(table, k, values, _OHMS)
        full, amps, volts = (file.number(values, key, where, None) for key in _OHMS[:3])
        one = file.number(values, "resolution_ohms", where, full / _COUNTS)
        percent = file.number(values, "accuracy_percent", where, _ACCURACY_PERCENT)
        try:
            made.append(OhmRange(full, amps, volts, one, percent / 100))
        except MeterError as error:
            key = "accuracy_percent" if error.key == "accuracy" else error.key
            file.fail(str(error), table, k, key)
    return tuple(made)


def _diode(file: _File, values: Any) -> Any:
    from ohmtrail.netanalysis.network.meter import DiodeRange, MeterError

    if not isinstance(values, dict):
        file.fail("found diode = ..., expected [diode]", "", 0, "diode")
    where = ("diode", 0)
    file.check_keys("diode", 0, values, _DIODE)
    amps, volts = (file.number(values, key, where, None) for key in _DIODE[:2])
    full = file.number(values, "full_scale_volts", where, volts)
    one = file.number(values, "resolution_volts", where, 0.001)
    percent = file.number(values, "accuracy_percent", where, _ACCURACY_PERCENT)
    try:
        return DiodeRange(amps, volts, full, one, percent / 100)
    except MeterError as error:
        key = "accuracy_percent" if error.key == "accuracy" else error.key
        return file.fail(str(error), "diode", 0, key)
