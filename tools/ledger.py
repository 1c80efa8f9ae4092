#!/usr/bin/env python3
"""Writes the state of the book into README, between its two marks, from `gripbook audit --ledger`.

Use: ledger.py [--check] [PROGRAM]. Without PROGRAM the debug build is asked. With --check nothing is written: exit code 1 and
the differing lines where README does not say what the program says now.
"""
import difflib
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
BEGIN = "<!-- the ledger: written by tools/ledger.py -->"
END = "<!-- end of the ledger -->"


def block(program: str) -> str:
    """The ledger as Markdown below a heading of README: no book hash, no headings of its own."""
    told = subprocess.run([program, "audit", "--ledger", "--format", "markdown"], cwd=ROOT, capture_output=True, text=True, check=True)
    lines = [line.lstrip("# ") + ":" if line.startswith("#") else line for line in told.stdout.splitlines() if "**packs**" not in line]
    return f"{BEGIN}\n\n" + "\n".join(lines).strip().replace("\n\n\n", "\n\n") + f"\n\n{END}"


def main() -> int:
    arguments = [a for a in sys.argv[1:] if a != "--check"]
    program = arguments[0] if arguments else str(ROOT / "target/debug/gripbook")
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    if text.count(BEGIN) != 1 or text.count(END) != 1:
        print(f"README.md: one line `{BEGIN}` and one line `{END}` are needed", file=sys.stderr)
        return 2
    head, rest = text.split(BEGIN)
    old, tail = rest.split(END)
    new = block(program)
    if "--check" not in sys.argv:
        readme.write_text(head + new + tail, encoding="utf-8")
        return 0
    differ = list(difflib.unified_diff((BEGIN + old + END).splitlines(), new.splitlines(), "README.md", "gripbook", lineterm=""))
    if differ:
        print("README's ledger is old: run tools/ledger.py", *differ, sep="\n")
    return 1 if differ else 0


sys.exit(main())
