#!/usr/bin/env python3
"""Peer of `gripbook check` for tools/bench: PyYAML's C loader and jsonschema.

    python3 tools/bench_peer.py SCHEMAS PACK

It checks the schema only: no units, no references, no line numbers. Needs PyYAML built with libyaml, and jsonschema.
"""

import json
import pathlib
import sys

import yaml
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

DATE = "tag:yaml.org,2002:timestamp"


class TextDates(yaml.CSafeLoader):
    """Dates stay text, as the records mean them."""


TextDates.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag != DATE]
    for first, resolvers in yaml.CSafeLoader.yaml_implicit_resolvers.items()
}


def main():
    schema_folder, pack = map(pathlib.Path, sys.argv[1:3])
    schemas = {
        file.name: json.loads(file.read_text(encoding="utf-8"))
        for file in sorted(schema_folder.glob("*.schema.json"))
        if file.name != "meta.schema.json"
    }
    registry = Registry().with_resources((name, Resource.from_contents(schema)) for name, schema in schemas.items())
    records = wrong = 0
    for schema in schemas.values():
        if "folder" not in schema:
            continue
        validator = Draft202012Validator(schema, registry=registry)
        for file in sorted((pack / schema["folder"]).glob("*.yaml")):
            record = yaml.load(file.read_bytes(), TextDates)
            records += 1
            faults = list(validator.iter_errors(record))
            if faults:
                wrong += 1
                for fault in faults:
                    at = "/".join(map(str, fault.absolute_path))
                    print(f"{file.relative_to(pack)}: {at}: {fault.message[:200]}", file=sys.stderr)
    print(f"{records} records, {wrong} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
