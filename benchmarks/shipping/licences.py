"""What is shipped beside us: a bill of materials (CycloneDX), and each licence against the ones we can live with."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from rows import BUILD, Row, row

from shipping.environments import environment, install
from shipping.tree import PROJECT

WELCOME = (
    "mit", "bsd", "apache", "isc", "python software foundation", "psf", "hpnd", "historical permission", "mpl",
    "mozilla public", "unlicense", "zlib", "public domain", "cc0", "0bsd", "blueoak", "bsl",
)  # fmt: skip
"""Words of licences that may stand beside Apache-2.0 in one program (MPL-2.0 binds its own files only)."""
KNOWN = {
    "psycopg": "LGPL-3.0: used unchanged, from its own package, which its licence allows",
    "psycopg-binary": "LGPL-3.0: used unchanged, from its own package, which its licence allows",
    "av": "BSD-3-Clause; its wheel carries FFmpeg's libraries under GPL: the extra `film`, never in ours",
    "pillow-heif": "BSD-3-Clause; its wheel carries LGPL and GPL codecs: the extra `photos`, never in ours",
}
"""Dependencies whose licence was read by hand; the reason is also in docs/dependencies.md."""


def licence_rows() -> Iterator[Row]:
    """Install what `make demo` installs, list it as SBOM under build/, and read every licence."""
    with tempfile.TemporaryDirectory() as made:
        python = environment(Path(made) / "run")
        install(python, "--require-hashes", "-r", str(PROJECT / "requirements" / "run.txt"))
        BUILD.mkdir(exist_ok=True)
        bill = BUILD / "sbom.cdx.json"
        tool(
            "cyclonedx-py", "environment", "--output-reproducible", "--pyproject", str(PROJECT / "pyproject.toml"),
            "--of", "JSON", "-o", str(bill), python,
        )  # fmt: skip
        listed = json.loads(tool("pip-licenses", "--python", python, "--from=mixed", "--format=json", "--with-urls"))
    components = json.loads(bill.read_text())["components"]
    yield row(
        "components in the bill of materials", float(len(components)), "packages",
        reference="CycloneDX 1.6, written by cyclonedx-py", limit="each that is installed",
        holds={one["name"].lower() for one in components} >= {str(one["Name"]).lower() for one in listed},
        source=str(bill.relative_to(PROJECT)),
    )  # fmt: skip
    table = sorted((str(one["Name"]), str(one["Version"]), str(one["License"])) for one in listed)
    (BUILD / "licences.json").write_text(json.dumps(table, indent=1) + "\n")
    odd = [f"{name} ({licence})" for name, _, licence in table if not compatible(name, licence)]
    yield row(
        "licences that do not go with Apache-2.0", float(len(odd)), "packages", reference="metadata of each package",
        limit="none", holds=not odd, source=", ".join(odd) or f"{len(table)} packages read",
    )  # fmt: skip


def compatible(name: str, licence: str) -> bool:
    """Whether a dependency's licence is one of those we can stand beside, or was read by hand."""
    return name.lower() in KNOWN or any(word in licence.lower() for word in WELCOME)


def tool(name: str, *words: str) -> str:
    """Run a tool of the proof environment."""
    done = subprocess.run([str(Path(sys.executable).parent / name), *words], capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"{name}: {done.stderr[-1500:]}")
    return done.stdout
