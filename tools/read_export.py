#!/usr/bin/env python3
"""Reads an export with Python's own csv and json and compares the parts: an independent look at what was written.

Use: read_export.py FOLDER (as written by `gripbook export --out FOLDER`). Exits with 1 and says what does not fit.
"""
import csv
import hashlib
import json
import pathlib
import sys


def main(folder: pathlib.Path) -> None:
    package = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    assert package["profile"] == "tabular-data-package" and package["resources"], "descriptor"
    tables = {}
    for resource in package["resources"]:
        raw = (folder / resource["path"]).read_bytes()
        assert len(raw) == resource["bytes"], resource["path"]
        assert "sha256:" + hashlib.sha256(raw).hexdigest() == resource["hash"], resource["path"]
        assert not raw.startswith(b"\xef\xbb\xbf"), "byte order mark"
        rows = list(csv.DictReader(raw.decode("utf-8").splitlines(keepends=True), strict=True))
        names = [field["name"] for field in resource["schema"]["fields"]]
        assert rows and list(rows[0]) == names, resource["path"]
        for row in rows:
            for field in resource["schema"]["fields"]:
                text = row[field["name"]]
                if field["type"] == "number" and text != "":
                    float(text)
                elif field["type"] == "string":
                    assert not text.startswith(("=", "+", "@", "\t", "\r")), f"formula: {text!r}"
        tables[resource["name"]] = rows
    ids = {row["id"] for row in tables["sources"]}
    assert len(ids) == len(tables["sources"]), "source ids repeat"
    for name in ("claims", "measurements"):
        lost = {row["source"] for row in tables[name]} - ids - {""}
        assert not lost, f"{name}: sources without a row: {sorted(lost)[:5]}"
    lines = [json.loads(line) for line in (folder / "claims.jsonl").read_text(encoding="utf-8").splitlines()]
    assert lines[-1]["summary"]["rows"] == len(lines) - 1 == len(tables["claims"]), "rows"
    for one, row in zip(lines, tables["claims"]):
        for key, text in row.items():
            value = one[key]
            if value is None:
                assert text == "", (key, text)
            elif isinstance(value, (int, float)):
                assert float(text) == value, (key, text, value)
            else:
                # A text cell that a spreadsheet would run has a quote mark before it.
                assert text in (value, "'" + value), (key, text, value)
    works = json.loads((folder / "sources.csl.json").read_text(encoding="utf-8"))
    assert {work["id"] for work in works} == ids, "CSL-JSON"
    bib = (folder / "sources.bib").read_text(encoding="utf-8")
    assert bib.count("\n@") + bib.startswith("@") == len(ids), "BibTeX entries"
    assert bib.count("{") - bib.count("\\{") == bib.count("}") - bib.count("\\}"), "BibTeX braces"
    package_rules(folder)
    citations(folder, works)
    print(f"{len(tables['claims'])} claims, {len(tables['measurements'])} measurements, {len(ids)} sources agree")


def package_rules(folder: pathlib.Path) -> None:
    """The descriptor and every row of every table, by the reference library of data packages."""
    try:
        import frictionless
    except ImportError:
        print("skipped: frictionless missing")
        return
    # Its own telemetry and network look-ups stay off: everything is local.
    report = frictionless.Package(str(folder / "datapackage.json")).validate()
    faults = [error.message for task in report.tasks for error in task.errors] + [error.message for error in report.errors]
    assert report.valid and not faults, faults[:5]
    # A broken copy is noticed.
    broken = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    broken["resources"][0]["schema"]["fields"][0]["type"] = "number"
    package = frictionless.Package.from_descriptor(broken, basepath=str(folder))
    assert not package.validate().valid, "a wrong type was not noticed"


def citations(folder: pathlib.Path, works: list) -> None:
    """BibTeX read by an independent parser, title by title against CSL-JSON."""
    try:
        import bibtexparser
    except ImportError:
        print("skipped: bibtexparser missing")
        return
    text = (folder / "sources.bib").read_text(encoding="utf-8")
    if hasattr(bibtexparser, "parse_string"):
        library = bibtexparser.parse_string(text)
        assert not library.failed_blocks, library.failed_blocks[:1]
        entries = {e.key: {f.key: f.value for f in e.fields} for e in library.entries}
    else:
        entries = {e["ID"]: e for e in bibtexparser.loads(text).entries}
    plain = str.maketrans("", "", "{}\\")
    for work in works:
        entry = entries[work["id"]]
        # A source whose title page was not seen has none.
        titles = [held.get("title", "").translate(plain) for held in (entry, work)]
        assert titles[0] == titles[1], (work["id"], titles)
        if "DOI" in work:
            assert entry["doi"].translate(plain) == work["DOI"], work["id"]
        if "issued" in work:
            assert int(entry["year"].translate(plain)) == work["issued"]["date-parts"][0][0], work["id"]


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
