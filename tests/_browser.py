"""Pages in a real browser: headless Chromium, and axe-core where it is installed.

axe-core is looked for in ``$OHMTRAIL_AXE`` (its ``axe.min.js``), else where
``npm install axe-core`` puts it below ``~/.cache/ohmtrail-oracles/axe``.
"""

import html
import json
import os
import re
import subprocess
from pathlib import Path

from _oracles import absent, program

_AXE = ".cache/ohmtrail-oracles/axe/node_modules/axe-core/axe.min.js"
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-extensions",
    "--allow-file-access-from-files",
)

#: A phone, a tablet held upright, and a full-HD screen.
WIDTHS = (390, 820, 1920)

_HARNESS = """<!DOCTYPE html><html lang="en"><title>t</title><body>%s
<pre id="found">none</pre><script>
addEventListener("load", async () => {
  const found = [];
  for (const frame of document.querySelectorAll("iframe")) {
    const view = frame.contentWindow, page = frame.contentDocument;
    const root = page.documentElement;
    const one = {
      width: Number(frame.width), scrolls: root.scrollWidth - root.clientWidth,
      ran: Boolean(view.ran), scripts: page.querySelectorAll("main script").length,
      images: page.querySelectorAll("img").length,
      handlers: [...page.querySelectorAll("*")].filter(
        e => [...e.attributes].some(a => a.name.startsWith("on"))).length,
      boxes: page.querySelectorAll("input[type=checkbox]").length,
      rooms: page.querySelectorAll("input.room").length,
      small: [...page.querySelectorAll("input, nav a")].filter(
        e => e.getBoundingClientRect().height < 24).length,
      spilt: [...page.querySelectorAll("input")].filter(e => {
        const box = e.closest("td, li");
        return box && e.getBoundingClientRect().right
          > box.getBoundingClientRect().right + 1;}).length,
      drawings: page.querySelectorAll("svg").length,
      text: page.body.innerText, violations: null,
    };
    if (view.axe) {
      const told = await view.axe.run(page, {resultTypes: ["violations"]});
      one.violations = told.violations.map(
        v => v.id + ": " + v.nodes.length + " " + v.nodes[0].html.slice(0, 120));
    }
    found.push(one);
  }
  document.getElementById("found").textContent = JSON.stringify(found);
});
</script></body></html>"""


def chromium() -> str:
    """Path of the browser; skips (or fails) the running test without one."""
    return program("chromium")


def axe() -> Path:
    """Path of axe-core; skips (or fails) the running test without it."""
    stated = os.environ.get("OHMTRAIL_AXE")
    path = Path(stated) if stated else Path.home() / _AXE
    if not path.is_file():
        absent(f"no axe-core: set OHMTRAIL_AXE, or npm install axe-core below {path}")
    return path


def look(page: str, folder: Path, widths=WIDTHS, rules: Path | None = None) -> list:
    """Show a page at several widths and return what the browser found, a dict each.

    The page's own policy is taken out, so that a script that slipped in would run.
    """
    bare = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page)
    assert bare != page, "the page has a policy against scripts"
    if rules is not None:
        script = f'<script src="{rules.as_uri()}"></script></head>'
        bare = bare.replace("</head>", script, 1)
    frames = "".join(
        f'<iframe title="t" width="{width}" height="900" '
        f'srcdoc="{html.escape(bare)}"></iframe>'
        for width in widths
    )
    file = folder / "harness.html"
    file.write_text(_HARNESS % frames, encoding="utf-8")
    ran = subprocess.run(
        [
            chromium(),
            *_FLAGS,
            f"--user-data-dir={folder / 'profile'}",
            "--window-size=2000,1200",
            "--virtual-time-budget=120000",
            "--dump-dom",
            file.as_uri(),
        ],
        capture_output=True,
        check=True,
        timeout=300,
    )
    dom = ran.stdout.decode("utf-8", "replace")
    told = re.search(r'<pre id="found">(.*?)</pre>', dom, re.S)
    assert told is not None
    return json.loads(html.unescape(told[1]))


def printed(file: Path, out: Path) -> bytes:
    """Print a page as the browser does and return the PDF."""
    subprocess.run(
        [
            chromium(),
            *_FLAGS,
            f"--user-data-dir={out.parent / 'profile'}",
            "--no-pdf-header-footer",
            f"--print-to-pdf={out}",
            file.as_uri(),
        ],
        capture_output=True,
        check=True,
        timeout=300,
    )
    return out.read_bytes()
