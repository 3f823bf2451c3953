"""Make the pictures of the README from the demo board.

Usage: python docs/pictures/make.py

Writes map.svg, stage.svg and, where a Chromium is on PATH, checklist.png beside this
file, with the same commands that a user has.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
STAGE = "synchronous buck at /Core/Phase B/SW"
WIDTH, HEIGHT = 900, 1152


def ohmtrail(*words: object) -> None:
    """Run one command, quietly."""
    code = "from ohmtrail.cli import main; raise SystemExit(main())"
    command = [sys.executable, "-c", code, *map(str, words)]
    subprocess.run(command, check=True, capture_output=True)


def main() -> int:
    """Write the pictures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ohmtrail("demo", folder / "demo")
        board = folder / "demo/sk4.kicad_sch"
        layout = ("--with", folder / "demo/sk4.kicad_pcb")
        ohmtrail("map", board, *layout, "--rail", "VMAIN", "--out", folder / "map.svg")
        shutil.copy(folder / "map.svg", HERE)
        log = ("--log", folder / "demo/bench_log.csv")
        ohmtrail("draw", board, "--stage", STAGE, *log, "--out", HERE / "stage.svg")
        page = folder / "checklist.html"
        ohmtrail(
            "checklist", board, "--stage", STAGE, "--format", "html", "--out", page
        )
        browser = shutil.which("chromium") or shutil.which("chromium-browser")
        if browser is None:
            print("no chromium on PATH: checklist.png left as it is", file=sys.stderr)
            return 0
        subprocess.run(
            [
                browser, "--headless", "--no-sandbox", "--hide-scrollbars",
                f"--user-data-dir={folder / 'profile'}",
                f"--window-size={WIDTH},{HEIGHT}",
                f"--screenshot={HERE / 'checklist.png'}", page.as_uri(),
            ],
            check=True,
            capture_output=True,
        )  # fmt: skip
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
