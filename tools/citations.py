#!/usr/bin/env python3
"""The citation check: nothing is compared with, computed by or read from a number that has no source.

usage: tools/citations.py [--root FOLDER] [--reckoners FILE.json]

Prints one line per slip, "file:line: rule: what", and ends with 1 when there is any. The rules:

  check     every published(...) in a test names a source and how its value was obtained
  reckoner  every reckoner (as described by `fettle reckon --json`) has a source, a formula, a range of validity, and a
            worked example whose source is named; an assumed default says where it comes from
  case      every row under cases/ has a source: a column or key "source", or one for the whole file
"""
import argparse
import csv
import json
import pathlib
import re
import sys
import tomllib

HOWS = {"read", "from_memory", "computed", "exact"}
EMPTY = {"", "-", "?", "none", "unknown", "n/a", "tbd", "source"}


def names_a_source(text):
    """A source is more than a shrug: some letters, and not a word that stands for nothing."""
    text = text.strip()
    return text.lower() not in EMPTY and len(re.findall(r"[A-Za-z]", text)) >= 3


def names_a_formula(text):
    """An exact case may name the formula itself: "1 in = 25.4 mm", "(F - 32) / 1.8"."""
    return bool(re.search(r"\d", text) and re.search(r"\w.*[-+*/^=].*\w", text))


def arguments(text, start):
    """The top-level arguments of a call whose "(" is at `start`, or None when it is never closed."""
    parts, depth, i, begin = [], 0, start, start + 1
    while i < len(text):
        c = text[i]
        if c == '"' or c == "'":
            match = re.compile(r'"(?:\\.|[^"\\])*"' if c == '"' else r"'(?:\\.|[^'\\])+'").match(text, i)
            if not match:
                return None
            i = match.end()
            continue
        if c in "([{":
            depth += 1
        elif c in ")]}":
            depth -= 1
            if depth == 0:
                parts.append(text[begin:i].strip())
                return parts
        elif c == "," and depth == 1:
            parts.append(text[begin:i].strip())
            begin = i + 1
        i += 1
    return None


def literal(expression):
    """The text of adjacent string literals, or None when the expression is not made of them."""
    if not re.fullmatch(r'(?:\s*"(?:\\.|[^"\\])*"\s*)+', expression):
        return None
    return "".join(re.findall(r'"((?:\\.|[^"\\])*)"', expression))


def source_is_named(expression, text):
    said = literal(expression)
    if said is not None:
        return names_a_source(said)
    for inner in re.findall(r'"((?:\\.|[^"\\])*)"', expression):
        if names_a_source(inner):
            return True
    name = re.search(r"(\w+)\s*(?:\(\)|\[[^\]]*\]|\.c_str\(\))?\s*$", expression)
    if not name:
        return False
    # A constant of this file, or a field of a row that carries its source along.
    given = re.search(rf'\b{name.group(1)}\b(?:\[\])?\s*(?:=|\{{|\()\s*((?:"(?:\\.|[^"\\])*"\s*)+)', text)
    if given:
        return names_a_source(literal(given.group(1)) or "")
    return bool(re.search(r"(source|src|cite|citation|from)", expression, re.I))


def without_comments(text):
    """Blanks // comments, but not a // inside a string."""
    return re.sub(r'"(?:\\.|[^"\\\n])*"|//[^\n]*', lambda m: m.group(0) if m.group(0)[0] == '"' else " " * len(m.group(0)), text)


def slips_in_test(bare):
    """Yields (line, what) for each published(...) without source or how."""
    for match in re.finditer(r"\bpublished\s*\(", bare):
        if re.search(r"\b(void|auto|inline)\s+$", bare[:match.start()]):
            continue  # a definition
        line = bare.count("\n", 0, match.start()) + 1
        parts = arguments(bare, match.end() - 1)
        if parts is None or len(parts) != 7:
            yield line, "published(...) takes science, quantity, source, how, expected, got, allowed"
            continue
        how = re.search(r"How::(\w+)", parts[3])
        formula = how and how.group(1) == "exact" and names_a_formula(literal(parts[2]) or "")
        if not formula and not source_is_named(parts[2], bare):
            yield line, f"published(...) names no source: {parts[2]}"
        if how and how.group(1) not in HOWS or not how and not re.search(r"\bhow\w*\b", parts[3], re.I):
            yield line, f"published(...) does not say how its value was obtained: {parts[3]}"
        if literal(parts[2]) and how and how.group(1) == "read" and "from memory" in literal(parts[2]).lower():
            yield line, "a value from memory is not read"


def slips_in_reckoners(reckoners):
    """Yields (name, what) for each reckoner without source, formula, range or worked example."""
    for r in reckoners:
        name = r.get("name", "?")
        for key in ("source", "formula", "range"):
            if not str(r.get(key, "")).strip() or (key == "source" and not names_a_source(str(r[key]))):
                yield name, f"no {key}"
        examples = r.get("examples", [])
        if not examples:
            yield name, "no worked example"
        for number, example in enumerate(examples, 1):
            source = str(example.get("source", ""))
            if not names_a_source(source) and not names_a_formula(source):
                yield name, f"worked example {number} names no source"
            if not example.get("expected"):
                yield name, f"worked example {number} expects nothing"
        for i in r.get("inputs", []):
            number = re.match(r"[-+.\d]+", str(i.get("default", "")))
            trade_value = i.get("form") in ("quantity", "limits") and i.get("default") and not (number and float(number.group(0)) == 0)
            if trade_value and not names_a_source(str(i.get("default_source", ""))):  # a default of nothing needs none
                yield name, f"input {i.get('name')}: the default {i['default']} has no source"


def has_source(row):
    return isinstance(row, dict) and any(names_a_source(str(row[k])) for k in row if k.lower() == "source")


def rows_without_source(value, path=""):
    """Yields the paths of tables in lists that neither carry a source nor stand under one."""
    if isinstance(value, dict):
        if has_source(value):
            return
        for key, inner in value.items():
            yield from rows_without_source(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and any(isinstance(v, (dict, list)) for v in value):
        for number, inner in enumerate(value):
            here = f"{path}[{number}]"
            if isinstance(inner, dict) and not has_source(inner) and not any(isinstance(v, (dict, list)) for v in inner.values()):
                yield here
            else:
                yield from rows_without_source(inner, here)


def slips_in_case(path):
    """Yields (line, what) for one file under cases/."""
    text = path.read_text(encoding="utf-8")
    whole = re.search(r"^#\s*source:\s*(.+)$", text, re.M | re.I)
    if whole and names_a_source(whole.group(1)):
        return
    if path.suffix == ".csv":
        lines = [(n, l) for n, l in enumerate(text.splitlines(), 1) if l.strip() and not l.startswith("#")]
        table = list(csv.reader([l for _, l in lines]))
        columns = [c.strip().lower() for c in table[0]] if table else []
        if "source" not in columns:
            yield 1, 'neither a column "source" nor a line "# source: ..."'
            return
        at = columns.index("source")
        for (number, _), row in zip(lines[1:], table[1:]):
            if at >= len(row) or not names_a_source(row[at]):
                yield number, "row without source"
    elif path.suffix in (".json", ".jsonl", ".toml"):
        if path.suffix == ".toml":
            value = tomllib.loads(text)
        elif path.suffix == ".json":
            value = json.loads(text)
        else:
            value = [json.loads(line) for line in text.splitlines() if line.strip()]
        if isinstance(value, dict) and has_source(value):
            return
        found = False
        for place in rows_without_source(value):
            found = True
            yield 1, f"{place}: no source"
        if not found and '"source"' not in text and not re.search(r"^\s*source\s*=", text, re.M):
            yield 1, "no source anywhere"
    elif path.suffix != ".md":
        yield 1, "no line \"# source: ...\""


def main():
    options = argparse.ArgumentParser(description="the citation check")
    options.add_argument("--root", default=pathlib.Path(__file__).resolve().parent.parent, type=pathlib.Path)
    options.add_argument("--reckoners", type=pathlib.Path, help="what `fettle reckon --json` printed")
    chosen = options.parse_args()
    root = chosen.root.resolve()
    slips, checks = [], 0
    for path in sorted([*(root / "src").rglob("*_test.cpp"), *(root / "tests").rglob("*.cpp"), *(root / "tests").rglob("*.h")]):
        if "samples" in path.relative_to(root).parts:
            continue
        text = without_comments(path.read_text(encoding="utf-8"))
        checks += len(re.findall(r"\bpublished\s*\(", text))
        slips += [f"{path.relative_to(root)}:{line}: check: {what}" for line, what in slips_in_test(text)]
    cases = [p for p in sorted((root / "cases").rglob("*")) if p.is_file()] if (root / "cases").is_dir() else []
    for path in cases:
        slips += [f"{path.relative_to(root)}:{line}: case: {what}" for line, what in slips_in_case(path)]
    reckoners = []
    if chosen.reckoners:
        reckoners = json.loads(chosen.reckoners.read_text(encoding="utf-8"))
        if not reckoners:
            slips.append(f"{chosen.reckoners.name}:1: reckoner: the list is empty")
        slips += [f"{chosen.reckoners.name}:1: reckoner: {name}: {what}" for name, what in slips_in_reckoners(reckoners)]
    print("\n".join(slips + [f"citations: {checks} checks, {len(cases)} case files, {len(reckoners)} reckoners{'' if reckoners else ' (none were looked at: give --reckoners)'}, {len(slips)} slips"]))
    return 1 if slips else 0


if __name__ == "__main__":
    sys.exit(main())
