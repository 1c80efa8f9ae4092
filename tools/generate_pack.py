#!/usr/bin/env python3
"""Writes a pack of many valid records, to measure speed and memory with.

    python3 tools/generate_pack.py --records 10000 --folder FOLDER [--seed 1]

One record in fifty is a source, the others are resins of about fifty lines with several claims each.
The same number and seed give the same bytes on every machine. The numbers are drawn at random and
mean nothing; their basis reads `measured` only so that the program does with them all that it does with
ordinary records. The folder must be new or empty. Needs Python 3.8 or later and nothing else.
"""

import argparse
import pathlib
import random
import sys

PER_SOURCE = 50
FAMILIES = ["methacrylate", "acrylate", "urethane-acrylate", "photopolymer", "photopolymer-filled"]
CHARACTER = ["tough", "stiff", "flexible", "brittle", "heat-resistant", "castable", "low-shrink", "fast", "matt", "glossy"]
COLOUR = ["dark grey", "light grey", "clear", "amber", "white", "black", "red", "blue", "green", "yellow", "beige", "natural"]
PART = ["gauge floats", "cable glands", "hinges", "lamp covers", "pump wheels", "drill guides", "knobs", "brackets", "pipe clips",
        "sensor housings", "battery trays", "gear blanks", "levers", "seal rings", "handles", "spacers"]
HABIT = ["bends a little before it breaks", "breaks without warning", "holds small threads well", "swells a little in water",
         "keeps its size in the sun", "yellows behind a window", "takes dye", "wants a long post-cure", "prints best warm",
         "chips at thin edges"]
ORIENTATION = ["flat", "edge", "upright"]

# Property, unit, least and greatest value, decimals, sd over value, method. All within the plausible bands of the schema.
STRENGTHS = [
    ("tensile_strength", "MPa", 18, 84, 1, 0.05, "ISO 527-2"),
    ("flexural_strength", "MPa", 30, 140, 1, 0.06, "ISO 178"),
    ("shear_strength", "MPa", 14, 60, 1, 0.07, "punch shear"),
    ("compressive_strength", "MPa", 40, 160, 0, 0.04, "ISO 604"),
    ("fracture_toughness", "MPa·√m", 0.5, 2.4, 2, 0.08, "ISO 13586"),
    ("tensile_modulus", "GPa", 0.8, 3.6, 2, 0.04, "ISO 527-2"),
]
PLAIN = [
    ("density", "g/cm³", 1.05, 1.35, 3),
    ("tg", "°C", 45, 150, 0),
    ("cte", "µm/(m·K)", 60, 130, 0),
    ("water_uptake", "%", 0.2, 3, 2),
    ("surface_energy", "mJ/m²", 32, 48, 1),
    ("elongation_at_break", "%", 2, 60, 1),
]


def number(draw, low, high, decimals):
    """A number between the ends, with a fixed count of decimals."""
    return f"{low + (high - low) * draw.random():.{decimals}f}"


def source(index):
    """Text of one source."""
    return (
        "# yaml-language-server: $schema=../../../schemas/source.schema.json\n"
        "type: campaign\n"
        f"title: Generated round {index}, numbers without meaning\n"
        f'issued: "{2015 + index % 11}"\n'
        "by: generator\n"
        "place: nowhere\n"
    )


def spread_claim(draw, unit, low, high, decimals, spread, method, sources, row):
    """One claim with deviation and conditions; no two claims of a record share a row."""
    value = number(draw, low, high, decimals)
    sd = float(value) * spread * (0.6 + 0.8 * draw.random())
    return (
        f"    - value: {value} {unit}\n"
        f"      sd: {sd:.{decimals + 1}f} {unit}\n"
        f"      n: {draw.randrange(3, 9)}\n"
        "      sd_kind: n-1\n"
        f"      source: {draw.choice(sources)}\n"
        f"      locator: row {row}\n"
        "      basis: measured\n"
        f"      method: {method}\n"
        f"      conditions: {{temperature: {draw.choice((23, 23, 40, 60))} °C, orientation: {draw.choice(ORIENTATION)}}}\n"
    )


def resin(draw, sources):
    """Text of one resin."""
    character, colour, part = draw.choice(CHARACTER), draw.choice(COLOUR), draw.choice(PART)
    text = [
        "# yaml-language-server: $schema=../../../schemas/resin.schema.json\n",
        f"name: Generated resin, {character}, {colour}\n",
        f"also: [{colour} for {part}]\n",
        f"family: {draw.choice(FAMILIES)}\n",
        f"tags: [{character}, generated]\n",
        f"description: For {part}; {draw.choice(HABIT)}, {draw.choice(HABIT)}.\n",
        "properties:\n",
    ]
    rows = iter(draw.sample(range(1, 400), 7))
    for position, (name, unit, low, high, decimals, spread, method) in enumerate(draw.sample(STRENGTHS, 3)):
        text.append(f"  {name}:\n")
        for _ in range(2 if position == 0 else 1):
            text.append(spread_claim(draw, unit, low, high, decimals, spread, method, sources, next(rows)))
    for name, unit, low, high, decimals in draw.sample(PLAIN, 3):
        value = number(draw, low, high, decimals)
        text.append(
            f"  {name}:\n    - {{value: {value} {unit}, source: {draw.choice(sources)}, locator: row {next(rows)}, basis: measured}}\n"
        )
    wavelength = draw.choice((385, 405))
    text.append(
        f"  penetration_depth:\n    - {{value: {number(draw, 40, 600, 0)} µm, source: {draw.choice(sources)}, basis: measured, "
        f"conditions: {{wavelength: {wavelength} nm, state: liquid}}}}\n"
        f"  opaque_at_cure_wavelength:\n    - {{value: {draw.choice(('true', 'false'))}, basis: practice}}\n"
    )
    return "".join(text)


def write_pack(folder, records, seed):
    """Writes pack.yaml, the sources and the resins."""
    sources_count = max(1, records // PER_SOURCE)
    if records < 2:
        sys.exit("at least 2 records: one source and one resin")
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        sys.exit(f"not empty: {folder}")
    (folder / "sources").mkdir()
    (folder / "resins").mkdir()
    (folder / "pack.yaml").write_text(
        f"id: generated\ntitle: Generated records\ndescription: {records} records from seed {seed}, for measurements of speed.\nlicence: CC0-1.0\n",
        encoding="utf-8",
    )
    names = [f"generated-round-{i:05}" for i in range(sources_count)]
    for index, name in enumerate(names):
        (folder / "sources" / f"{name}.yaml").write_bytes(source(index).encode())
    for index in range(records - sources_count):
        draw = random.Random(f"{seed}/{index}")
        near = index * sources_count // (records - sources_count)
        own = names[max(0, near - 1): near + 2]
        (folder / "resins" / f"generated-{index:06}.yaml").write_bytes(resin(draw, own).encode())


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--records", type=int, required=True, help="how many records, sources included")
    parser.add_argument("--folder", type=pathlib.Path, required=True, help="where to write; new or empty")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    write_pack(options.folder, options.records, options.seed)


if __name__ == "__main__":
    main()
