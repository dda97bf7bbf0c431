"""Joins what scripts/bench/speed measured into one Markdown table, beside the budgets."""
import pathlib
import re
import statistics
import sys

folder = pathlib.Path(sys.argv[1])


def rows(name, columns):
    lines = (folder / name).read_text().splitlines()
    return [(line.split("\t") + [""] * columns)[:columns] for line in lines if "\t" in line]


def commands():
    """Medians over the runs of each command."""
    runs = {}
    for name, processor, clock in rows("commands.tsv", 3):
        runs.setdefault(name, []).append((float(processor), float(clock)))
    for name, times in runs.items():
        yield name, *(statistics.median(column) for column in zip(*times)), "whole command"


ours, rivals = rows("ours.tsv", 4), {name: (float(ms), remark) for name, ms, remark in rows("rivals.tsv", 3)}
titles = {
    "clm": ("cumulative link, second order, 60 swatches", ["clm"]),
    "lm": ("least squares with its analysis, 60 swatches", ["lm", "lm.fit"]),
    "clmm": ("one glass of 60 swatches, whole posterior", ["clmm"]),
    "shop": ("20 glasses, 2,000 swatches", ["shop"]),
}
# Milliseconds by the clock at most, for what has a budget; whole commands have 300.
budgets = {
    "choice from 608,256": 1000,
    "plan, every setting": 2000,
    "exchange": 2000,
    "burn.pdf of 500 swatches": 200,
    "fit_shop 200 x 500": 5000,
    "fit_shop 200 x 500, all glasses": 5000,
    "frostcal --version": 20,
}
LEAST_RATIO = {"clm": 20}
MOST_BYTES, MOST_MIB = 300_000, 1024


def against(value, most, unit):
    return f"{most:g} {unit}" + ("" if value <= most else ", **missed**")


print("\n| what | processor, ms | clock, ms | R, ms | ratio | budget | remarks |\n|---|---|---|---|---|---|---|")
for name, processor, clock, remark in [*ours, *commands()]:
    title, opponents = titles.get(name, (f"`{name}`" if name.startswith("frostcal ") else name, []))
    if name == "peak memory":
        print(f"| peak memory of these | {processor} MiB | | | | {against(float(processor), MOST_MIB, 'MiB')} | |")
        continue
    ms, clock = float(processor), float(clock)
    most = budgets.get(name, 300 if name.startswith("frostcal ") else None)
    budget = "" if most is None else against(clock, most, "ms")
    size = re.match(r"(\d+) bytes", remark)
    if size:
        budget += "; " + against(int(size[1]), MOST_BYTES, "bytes")
    if not opponents:
        print(f"| {title} | {ms:.3g} | {clock:.3g} | | | {budget} | {remark} |")
    for opponent in opponents:
        theirs, said = rivals[opponent]
        ratio = theirs / ms
        least = LEAST_RATIO.get(opponent)
        if least is not None:
            budget = f"{least} x" + ("" if ratio >= least else ", **missed**")
        print(f"| {title}: `{opponent}` | {ms:.3g} | {clock:.3g} | {theirs:.3g} | {ratio:.1f} | {budget} "
              f"| {remark}; R: {said} |")
