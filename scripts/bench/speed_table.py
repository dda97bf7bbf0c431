"""Joins what scripts/bench/speed measured into one Markdown table."""
import pathlib
import sys

folder = pathlib.Path(sys.argv[1])


def rows(name):
    lines = (folder / name).read_text().splitlines()
    return [(line.split("\t") + [""])[:3] for line in lines if "\t" in line]


ours, rivals = rows("ours.tsv"), {name: (float(ms), remark) for name, ms, remark in rows("rivals.tsv")}
titles = {
    "clm": ("cumulative link, second order, 60 swatches", ["clm"]),
    "lm": ("least squares with its analysis, 60 swatches", ["lm", "lm.fit"]),
    "shop": ("20 glasses, 2,000 swatches", ["shop"]),
}
print("\n| what | frostcal, ms | R, ms | ratio | remarks |\n|---|---|---|---|---|")
for name, ms, remark in ours:
    title, against = titles.get(name, (name, []))
    if name == "peak memory":
        print(f"| peak memory of these | {float(ms):.0f} MiB | | | |")
        continue
    if not against:
        print(f"| {title} | {float(ms):.3g} | | | {remark} |")
    for rival in against:
        theirs, said = rivals[rival]
        print(f"| {title}: `{rival}` | {float(ms):.3g} | {theirs:.3g} | {theirs / float(ms):.1f} | {remark}; R: {said} |")
for name, ms, _ in rows("commands.tsv"):
    print(f"| `{name}` | {ms} | | | whole command |")
