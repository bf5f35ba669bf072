#!/usr/bin/env python3
"""Writes docs/reckoners.md from what `fettle reckon --json` prints.

usage: fettle reckon --json | tools/reckoners.py --write FILE    brings the file up to date
       fettle reckon --json | tools/reckoners.py --check FILE    ends with 1 when it is not
"""
import argparse
import difflib
import json
import pathlib
import sys

HEAD = """# Reckoners

The calculators for the bench. Written from their descriptions in the program (`tools/refresh.sh` does it); do not edit by
hand. `fettle reckon` lists them, `fettle reckon NAME` shows one, `fettle reckon NAME key=value ...` answers. Every length,
force or other dimension is given with its unit, in any unit of its kind (`25.4 mm`, `1 in`); asked in inches it answers in
inches, `--inch` and `--metric` choose. For programs: `fettle reckon
NAME --json` reads an object with the same names from standard input (texts with units, or numbers under a key that names
the unit, such as `load_kg`), or an array of them, and writes the same shape. Where work can hurt, the answer carries
cautions; local codes and licensed practice decide.
"""


def cell(text):
    return str(text).replace("|", "\\|").replace("\n", " ")


def quoted(key, value):
    safe = all(c.isascii() and (c.isalnum() or c in ".,-_%") for c in value) and value
    return f"{key}={value}" if safe else f"{key}='{value}'"


def section(r):
    out = [f"\n### {r['name']}\n", r["question"], ""]
    if r["inputs"]:
        out += ["| input | what | range | unless said |", "|---|---|---|---|"]
    for i in r["inputs"]:
        span = ", ".join(i["choices"]) if "choices" in i else i.get("range", "")
        default = i.get("default", "" if i["required"] else "may be left out")
        if i.get("default_source"):
            default += f" ({i['default_source']})"
        out.append(f"| `{i['name']}` | {cell(i['help'])} | {cell(span)} | {cell(default)} |")
    out += ["", "| gives | what |", "|---|---|"]
    out += [f"| `{o['name']}` | {cell(o['help'])}{', ' + o['kind'] if o['kind'] != 'number' else ''} |" for o in r["outputs"]]
    out += ["", f"- Formula: {r['formula']}", f"- Holds: {r['range']}", f"- Source: {r['source']}", ""]
    asked, given_back = [i["name"] for i in r["inputs"]], [o["name"] for o in r["outputs"]]
    for example in r["examples"][:1]:
        example["given"] = dict(sorted(example["given"].items(), key=lambda kv: asked.index(kv[0])))
        example["expected"] = dict(sorted(example["expected"].items(), key=lambda kv: given_back.index(kv[0])))
        out += ["```", " ".join(["fettle reckon", r["name"]] + [quoted(k, v) for k, v in example["given"].items()])]
        out += [f"  {k} = {v}" for k, v in example["expected"].items()] + ["```", f"({example['source']})"]
    return out


def page(reckoners):
    out = [HEAD]
    for science in dict.fromkeys(r["science"] for r in reckoners):
        out.append(f"- [{science}](#{science}): " + ", ".join(f"[{r['name']}](#{r['name']})" for r in reckoners if r["science"] == science))
    for science in dict.fromkeys(r["science"] for r in reckoners):
        out.append(f"\n## {science}")
        for r in reckoners:
            if r["science"] == science:
                out += section(r)
    return "\n".join(out) + "\n"


def main():
    options = argparse.ArgumentParser(description="writes docs/reckoners.md")
    what = options.add_mutually_exclusive_group(required=True)
    what.add_argument("--write", type=pathlib.Path)
    what.add_argument("--check", type=pathlib.Path)
    chosen = options.parse_args()
    fresh = page(json.load(sys.stdin))
    if chosen.write:
        chosen.write.write_text(fresh, encoding="utf-8")
        return 0
    old = chosen.check.read_text(encoding="utf-8") if chosen.check.exists() else ""
    if old == fresh:
        print(f"reckoners: {chosen.check.name} is up to date")
        return 0
    print("\n".join(list(difflib.unified_diff(old.splitlines(), fresh.splitlines(), "as it stands", "as it should be", lineterm=""))[:60]))
    print(f"reckoners: {chosen.check.name} is not what the program describes; mend it with tools/refresh.sh")
    return 1


if __name__ == "__main__":
    sys.exit(main())
