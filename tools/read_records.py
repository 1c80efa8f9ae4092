#!/usr/bin/env python3
"""Validates record files against the published schemas with Python's own YAML reader and JSON Schema validator.

Use: read_records.py SCHEMAS PACK... Exits with 1 and names file and place of what does not fit. Then breaks each record in
three ways and expects the schemas to notice, so that a validator that finds nothing is noticed too.
"""
import copy
import json
import pathlib
import sys


def skip(name: str) -> None:
    print(f"skipped: {name} missing")
    sys.exit(0)


try:
    import yaml
    from jsonschema import Draft202012Validator
    from referencing import Registry, Resource
    from referencing.jsonschema import DRAFT202012
except ImportError as fault:
    skip(fault.name or "a library")


class Plain(yaml.SafeLoader):
    """Dates stay texts, as in the record profile."""


Plain.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if tag != "tag:yaml.org,2002:timestamp"]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def main(schemas: pathlib.Path, packs: list[pathlib.Path]) -> None:
    documents = {p.name: json.loads(p.read_text(encoding="utf-8")) for p in sorted(schemas.glob("*.schema.json"))}
    for name, document in documents.items():
        Draft202012Validator.check_schema(document)
        assert document["$id"] == name, name
    resources = [(name, Resource.from_contents(document, DRAFT202012)) for name, document in documents.items()]
    registry = Registry().with_resources(resources)
    kinds = {d["folder"]: Draft202012Validator(d, registry=registry) for d in documents.values() if "folder" in d}
    read = unnoticed = 0
    for pack in packs:
        for folder, validator in kinds.items():
            for path in sorted((pack / folder).glob("*.yaml")):
                record = yaml.load(path.read_text(encoding="utf-8"), Loader=Plain)
                for fault in validator.iter_errors(record):
                    sys.exit(f"{path}: {fault.json_path}: {fault.message}")
                for broken in mutants(record):
                    unnoticed += validator.is_valid(broken)
                read += 1
    assert read > 100, read
    assert unnoticed == 0, f"{unnoticed} broken records were not noticed"
    print(f"{read} records fit {len(documents)} schemas")


def mutants(record: dict):
    """An unknown field, a first field that is gone or of another type. A source may have no title; its type it must have."""
    yield {**record, "no_such_field": "x"}
    first = "name" if "name" in record else "type"
    without = copy.deepcopy(record)
    del without[first]
    yield without
    yield {**record, first: {"is": "a map"}}


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), [pathlib.Path(p) for p in sys.argv[2:]])
