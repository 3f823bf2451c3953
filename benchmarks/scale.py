"""Time and memory of a generated netlist, ten times larger each step.

Usage: python benchmarks/scale.py [--pins N] [--steps K] [--commands nets,summary]

Writes KiCad netlists made of repeated buck stages with their loads, up to N
pins (default 1,000,000), each step ten times the one before (default 2 steps),
then runs ``ohmtrail nets`` and ``ohmtrail summary`` (which recognises every
stage) on each as a process of its own, and prints CPU time, peak memory and
memory a pin.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

#: ref letter, value, footprint pins: (number, net with # for the block), ...
BLOCK = (
    ("U#0", "PWM controller", "1 VIN 2 GND 3 HG# 4 SW# 5 BOOT# 6 LG# 7 FB# 8 EN#"),
    ("Q#0", "NFET", "1 SW# 2 SW# 3 SW# 4 G# 5 VIN 6 VIN 7 VIN 8 VIN"),
    ("Q#1", "NFET", "1 GND 2 GND 3 GND 4 LG# 5 SW# 6 SW# 7 SW# 8 SW#"),
    ("R#0", "2R2", "1 HG# 2 G#"),
    ("R#1", "10k", "1 G# 2 SW#"),
    ("R#2", "31k6", "1 OUT# 2 FB#"),
    ("R#3", "10k", "1 FB# 2 GND"),
    ("R#4", "100k", "1 VIN 2 EN#"),
    ("C#0", "100n", "1 BOOT# 2 SW#"),
    ("C#1", "10u 25V", "1 VIN 2 GND"),
    ("C#2", "22u 6V3", "1 OUT# 2 GND"),
    ("C#3", "22u 6V3", "1 OUT# 2 GND"),
    ("L#0", "1u", "1 SW# 2 OUT#"),
    ("U#1", "Load", " ".join(f"{n} OUT#" if n < 9 else f"{n} GND" for n in range(17))),
)


def write_netlist(path: Path, pins: int) -> int:
    """Write a netlist of about so many pins; return how many there are."""
    each = sum(len(text.split()) // 2 for _, _, text in BLOCK)
    nets: dict[str, list[str]] = {}
    written = 0
    with path.open("w", encoding="utf-8") as file:
        file.write('(export (version "E")\n (design (source "scale"))\n (components\n')
        for block in range(max(1, pins // each)):
            for ref, value, text in BLOCK:
                ref = ref.replace("#", f"{block:05d}")
                file.write(f'  (comp (ref "{ref}") (value "{value}"))\n')
                words = text.split()
                for number, net in zip(words[::2], words[1::2], strict=True):
                    name = net.replace("#", str(block))
                    nets.setdefault(name, []).append(
                        f'(node (ref "{ref}") (pin "{number}") (pintype "passive"))'
                    )
                    written += 1
        file.write(" )\n (nets\n")
        for code, (name, nodes) in enumerate(nets.items(), 1):
            file.write(f'  (net (code "{code}") (name "{name}")\n')
            file.writelines(f"   {node}\n" for node in nodes)
            file.write("  )\n")
        file.write(" )\n)\n")
    return written


def measure(arguments: list[str]) -> tuple[float, int]:
    """Return CPU seconds and peak bytes of ``ohmtrail`` with these arguments."""
    process = subprocess.Popen(
        [sys.executable, "-m", "ohmtrail", *arguments],
        env={**os.environ, "OHMTRAIL_CACHE": "off"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"ohmtrail {arguments[0]} failed")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss * 1024


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pins", type=int, default=1_000_000)
    parser.add_argument("--steps", type=int, default=2)
    parser.add_argument("--commands", default="nets,summary")
    options = parser.parse_args()
    print(
        f"{'command':10} {'pins':>9} {'time':>9} {'ratio':>6} {'peak':>8} {'a pin':>9}"
    )
    before: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for step in reversed(range(options.steps)):
            path = Path(folder) / f"step{step}.net"
            pins = write_netlist(path, options.pins // 10**step)
            for command in options.commands.split(","):
                took, peak = measure([command, str(path), "--json"])
                ratio = f"{took / before[command]:6.1f}" if command in before else ""
                before[command] = took
                print(
                    f"{command:10} {pins:9,} {took:7.2f} s {ratio:>6} "
                    f"{peak / 1e6:5.0f} MB {peak / pins:7.0f} B",
                    flush=True,
                )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
