#!/usr/bin/env python3
"""Writes docs/validation.md from what the tests recorded (tests/published.h): one row per comparison with the outside.

usage: tools/validation.py --records FOLDER --write FILE [--partial WHY]

Rows are sorted and each stands once, so that the same results give the same bytes. What differs from the file as it
stands is said; the file is then brought up to date, but not in a partial run (some tests could not run), which would only
lose rows. Ends with 1 when a row failed or nothing was recorded.
"""
import argparse
import json
import math
import pathlib
import re
import sys

HEAD = """# Validation

Written by the test run; do not edit by hand (`./check` brings it up to date). Every row compares a result of Fettle with a
value from outside: **read** in a publication, **computed** independently (another method, another language, by hand),
**exact** (a limit case with a closed answer), or **from memory** of whoever wrote the test, to be looked up before it is
leant on. Units stand with the quantity. A row holds when |got - expected| is at most what is allowed; where a source
prints rounded numbers, what is allowed covers its rounding, and slips found in sources are noted at the row's source.
"""


def rows_of(folder):
    """All records; of several with the same quantity, source and expected value the worst counts."""
    rows = {}
    for path in sorted(folder.glob("*.jsonl")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            try:
                row = json.loads(line.replace(":nan", ":NaN").replace(":-nan", ":NaN").replace(":inf", ":Infinity").replace(":-inf", ":-Infinity"))
            except json.JSONDecodeError:
                sys.exit(f"validation: {path.name}:{number}: a broken record")
            key = (row["science"], row["quantity"], row["source"], row["expected"])
            if key not in rows or badness(row) > badness(rows[key]):
                rows[key] = row
    return sorted(rows.values(), key=lambda r: (r["science"], natural(r["quantity"]), r["source"], r["expected"]))


def badness(row):
    off = abs(row["got"] - row["expected"])
    return math.inf if math.isnan(off) or not row["pass"] else off


def natural(text):
    """Sorts "example 10" after "example 9"."""
    return [(1, int(part), "") if part.isdigit() else (0, 0, part) for part in re.split(r"(\d+)", text)]


def digits(x, allowed):
    """As many digits as the comparison needs, and never a last digit that only shows rounding noise."""
    if not math.isfinite(x):
        return "no number"
    if x == 0:
        return "0"
    if allowed > 0:
        places = 1 - math.floor(math.log10(allowed))
        significant = min(12, max(4, places + math.floor(math.log10(abs(x))) + 1))
    else:
        significant = 12
    text = f"{x:.{significant}g}"
    return "0" if float(text) == 0 or (allowed > 0 and abs(x) < 1e-3 * allowed) else text


def cell(text):
    return text.replace("|", "\\|").replace("\n", " ")


def page(rows):
    out = [HEAD]
    sciences = sorted({r["science"] for r in rows})
    kinds = ["read", "computed", "exact", "from memory"]
    out.append(f"{len(rows)} comparisons, {sum(not r['pass'] for r in rows)} of them do not hold.\n")
    out.append("| science | " + " | ".join(kinds) + " | do not hold |\n|---|" + "---:|" * 5)
    for s in sciences:
        of = [r for r in rows if r["science"] == s]
        counts = [str(sum(r["how"] == k for r in of)) for k in kinds] + [str(sum(not r["pass"] for r in of))]
        out.append(f"| [{s}](#{s.replace(' ', '-')}) | " + " | ".join(counts) + " |")
    for s in sciences:
        out.append(f"\n## {s}\n\n| quantity | expected | got | allowed | how | source | state |\n|---|---:|---:|---:|---|---|---|")
        for r in (r for r in rows if r["science"] == s):
            out.append("| " + " | ".join([
                cell(r["quantity"]), digits(r["expected"], r["allowed"]), digits(r["got"], r["allowed"]), f"{r['allowed']:.2g}",
                r["how"], cell(r["source"]), "holds" if r["pass"] else "**does not hold**"]) + " |")
    return "\n".join(out) + "\n"


def verdict(rows):
    failed = [r for r in rows if not r["pass"]]
    for r in failed:
        print(f"validation: does not hold: {r['science']}: {r['quantity']}: expected {r['expected']:.6g}, got {r['got']:.6g}")
    return 1 if failed else 0


def main():
    options = argparse.ArgumentParser(description="writes docs/validation.md")
    options.add_argument("--records", type=pathlib.Path, required=True)
    options.add_argument("--write", type=pathlib.Path, required=True)
    options.add_argument("--partial", help="why some tests could not run")
    chosen = options.parse_args()
    rows = rows_of(chosen.records)
    if not rows:
        print(f"validation: nothing was recorded in {chosen.records}")
        return 1
    fresh = page(rows)
    old = chosen.write.read_text(encoding="utf-8") if chosen.write.exists() else ""
    if fresh == old:
        print(f"validation: {len(rows)} comparisons, {chosen.write} is up to date")
    else:
        before, after = set(old.splitlines()), set(fresh.splitlines())
        gone = [line for line in old.splitlines() if line.startswith("| ") and line not in after]
        new = [line for line in fresh.splitlines() if line.startswith("| ") and line not in before]
        for mark, lines in (("-", gone), ("+", new)):
            for line in lines[:20]:
                print(f"  {mark} {line}")
            if len(lines) > 20:
                print(f"  {mark} and {len(lines) - 20} more")
        if chosen.partial and old:
            print(f"validation: {len(rows)} comparisons; {chosen.write} is left as it is, since {chosen.partial}")
            return verdict(rows)
        chosen.write.parent.mkdir(parents=True, exist_ok=True)
        temporary = chosen.write.with_suffix(".tmp")
        temporary.write_text(fresh, encoding="utf-8")
        temporary.replace(chosen.write)
        print(f"validation: {len(rows)} comparisons; {chosen.write} was brought up to date ({len(new)} rows new or changed, {len(gone)} gone)")
    return verdict(rows)


if __name__ == "__main__":
    sys.exit(main())
