#!/usr/bin/env python3
"""Writes the invented pull-out curves of the demo pack.

    python3 tools/demo_curves.py            write records/demo/series/ID/*.csv
    python3 tools/demo_curves.py --check    write nothing; exit 1 if a file on disk differs

The loads come from the specimen lines of the series records, so that the highest load of a curve is
exactly the load of its record. Everything else is drawn from a generator seeded with the series and
the specimen: the same records give the same bytes on every machine. For that reason only + - * / and
comparisons are used, no function of the platform's mathematics library, and noise comes from sums of
uniform draws. Needs Python 3.8 or later and nothing else.
"""

import pathlib
import random
import re
import sys

SERIES = pathlib.Path(__file__).resolve().parent.parent / "records" / "demo" / "series"
SAMPLES_PER_SECOND = 20
RIG_COMPLIANCE = 0.00021  # mm/N, as in rig/logger-puller
STANDARD_GRAVITY = 9.80665
MOST_LINES = 399

# One line per series: way of writing, stiffness of the joint alone in N/mm, pitch in mm, end of the recording in mm.
CURVES = {
    "logger-grey-direct-m3": ("plain", 3600, 0.5, 1.95),
    "logger-grey-cut-m3": ("plain", 4100, 0.5, 1.85),
    "logger-grey-printed-m3": ("decimal-comma", 3000, 0.5, 1.75),
    "logger-grey-cut-m4-deep": ("plain", 6200, 0.7, 1.95),
    "logger-clear-direct-m3": ("kilograms", 4700, 0.5, 1.20),
    "logger-grey-glued-plain-m3": ("time", 3900, 0.5, 1.60),
    "logger-grey-glued-stepped-m3": ("plain", 4300, 0.5, 1.60),
    "logger-clear-own-resin-m3": ("plain", 3300, 0.5, 1.30),
    "logger-petg-heat-m3": ("load-first", 2600, 0.5, 2.60),
    "logger-petg-direct-m3": ("plain", 1900, 0.5, 2.85),
}

SPECIMEN = re.compile(
    r"- \{label: (?P<label>[^,]+), value: (?P<load>[0-9.]+) (?P<unit>N|kgf), mode: (?P<mode>[a-z-]+),.*curve: (?P<file>[a-z0-9]+\.csv)[,}]"
)
SPEED = re.compile(r"^  speed: (?P<speed>[0-9.]+) mm/min$", re.MULTILINE)


def wobble(draw, size):
    """Noise of about this standard deviation; never beyond three of them."""
    return (sum(draw.random() for _ in range(3)) / 3 - 0.5) * 6 * size


def rise(x, peak, stiffness, toe):
    """Load on the way up: a parabolic toe, a line, and a bend over the last fifth to a level top."""
    if x < toe:
        return stiffness * x * x / (2 * toe)
    top = peak_travel(peak, stiffness, toe)
    bend = top - 2 * 0.2 * peak / stiffness
    if x < bend:
        return stiffness * (x - toe / 2)
    return peak - stiffness * stiffness / (4 * 0.2 * peak) * (top - x) * (top - x)


def peak_travel(peak, stiffness, toe):
    """Travel at the highest load."""
    return toe / 2 + 0.8 * peak / stiffness + 2 * 0.2 * peak / stiffness


def slide(past, drop, floor, end):
    """Share of the peak that is left: down to `drop` within 0.08 mm, then in a line to `floor` at `end`."""
    if past < 0.08:
        return 1 - (1 - drop) * past / 0.08
    if past > end:
        return floor
    return drop - (drop - floor) * (past - 0.08) / (end - 0.08)


def saw(past, pitch, valley, loss):
    """Teeth one pitch apart, each lower by the share `loss`: a screw that jumps from thread to thread."""
    tooth = int(past / pitch)
    inside = past - tooth * pitch
    high = 1 - loss * tooth
    following = 1 - loss * (tooth + 1)
    low = valley * high
    if inside < 0.09:
        return max(high - (high - low) * inside / 0.09, 0.02)
    return max(low + (following - low) * (inside - 0.09) / (pitch - 0.09), 0.02)


def after(mode, past, pitch):
    """Share of the peak that is left, `past` mm beyond it."""
    if mode == "elastic-jump":
        return saw(past, pitch, 0.34, 0.17)
    if mode == "crest-crush":
        return saw(past, pitch, 0.62, 0.26)
    if mode == "part-thread-shear":
        # Sheared threads catch again a little, also one pitch on.
        inside = past - int(past / pitch) * pitch
        catch = 0.05 * inside / pitch if past > pitch else 0.0
        return slide(past, 0.52, 0.14, 3 * pitch) + catch
    if mode in ("knurl-shear", "groove-shear"):
        return slide(past, 0.86, 0.30, 1.9)
    if mode == "glue-to-metal":
        return slide(past, 0.24, 0.05, 0.9)
    if mode in ("glue", "not-cured", "glue-to-part"):
        return slide(past, 0.13, 0.03, 0.6)
    # hoop-burst, root-crack: the part has let go.
    return 0.02 if past > 0.004 else 0.6


def travel_and_load(series, specimen, step):
    """Samples of one pull as (travel in mm, load in the unit of the record), the peak exactly as recorded."""
    _, joint, pitch, end = CURVES[series]
    draw = random.Random(series + "/" + specimen["label"])
    newtons = STANDARD_GRAVITY if specimen["unit"] == "kgf" else 1.0
    peak = float(specimen["load"])
    resolution = 0.1 if specimen["unit"] == "kgf" else 0.5
    # The rig gives way as well; the stiffness on record is that of the whole system.
    stiffness = 1 / newtons / (1 / (joint * (0.94 + 0.12 * draw.random())) + RIG_COMPLIANCE)
    toe = 0.05 + 0.06 * draw.random()
    own_pitch = pitch * (0.98 + 0.04 * draw.random())
    censored = specimen["mode"] == "machine-limit"
    top = peak_travel(peak, stiffness, toe)
    if censored:
        top = toe / 2 + peak / stiffness
    at_peak = int(top / step + 0.5)
    last = min(int(end / step), MOST_LINES)
    if censored:
        last = at_peak + 8
    samples = []
    for i in range(last + 1):
        x = i * step
        if i == at_peak:
            samples.append((x, specimen["load"]))
            continue
        if censored:
            # The motor stops at the limit and backs off.
            load = stiffness * (x - toe / 2) if x >= toe else stiffness * x * x / (2 * toe)
            load = load if i < at_peak else peak * (1 - 0.02 * (i - at_peak))
        elif i < at_peak:
            load = rise(x, peak, stiffness, toe)
        else:
            load = peak * after(specimen["mode"], x - at_peak * step, own_pitch)
        load += wobble(draw, resolution)
        steps = int(load / resolution + 0.5) if load > 0 else 0
        load = min(steps * resolution, peak - resolution)
        samples.append((x, f"{load:.1f}"))
    return samples


def written(style, samples, step):
    """The file as this tester writes it."""
    if style == "plain":
        rows = ["travel (mm),load (N)"] + [f"{x:.4f},{load}" for x, load in samples]
    elif style == "decimal-comma":
        rows = ["Travel [mm];Force [N]"] + [f"{x:.4f};{load}".replace(".", ",") for x, load in samples]
    elif style == "kilograms":
        rows = ["position_mm,load_kg"] + [f"{x:.3f},{load}" for x, load in samples]
    elif style == "time":
        rows = ["time_s,force_N"] + [f"{i / SAMPLES_PER_SECOND:.2f},{load}" for i, (_, load) in enumerate(samples)]
    else:
        rows = ["# puller of the logger workshop", "Load N,Extension mm"] + [f"{load},{x:.4f}" for x, load in samples]
    return "\n".join(rows) + "\n"


def files():
    """Path and text of every curve, in order."""
    for series, (style, _, _, _) in sorted(CURVES.items()):
        record = (SERIES / f"{series}.yaml").read_text(encoding="utf-8")
        step = float(SPEED.search(record)["speed"]) / 60 / SAMPLES_PER_SECOND
        found = list(SPECIMEN.finditer(record))
        if len(found) != record.count("curve: "):
            sys.exit(f"{series}: a specimen line has an unexpected form")
        for specimen in found:
            yield SERIES / series / specimen["file"], written(style, travel_and_load(series, specimen, step), step)


def main():
    checking = sys.argv[1:] == ["--check"]
    if sys.argv[1:] and not checking:
        sys.exit(__doc__)
    different = 0
    for path, text in files():
        old = path.read_bytes() if path.exists() else None
        if old == text.encode():
            continue
        different += 1
        if checking:
            print(f"differs: {path.relative_to(SERIES)}")
        else:
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(text.encode())
    if checking and different:
        sys.exit(1)


if __name__ == "__main__":
    main()
