#!/usr/bin/env python3
"""The floor check: every #include in src/ must point downwards.

usage: tools/floors.py [--root FOLDER]

Prints one line per slip, "file:line: rule: what", and ends with 1 when there is any. The rules:

  floor     a folder includes only itself and what stands lower; equals (two sciences, two outputs) never one another;
            papers alone stand on drawings, since a paper carries them, and the server on the command line, since it says
            the same in the same words
  science   calc/X includes no plan/ and no other science
  missing   an included file of ours exists, and is named from src/ ("floor/file.h")
  kernel    a header of the geometry kernel stands only in src/solid/*.cpp
  pure      a science has no streams, files, clocks or random devices; nothing below output/ asks the environment; nothing
            below app/ prints or exits
  words     no note-to-self words in sources
"""
import argparse
import pathlib
import re
import sys

# Lowest first. Folders in one row are equals and know nothing of each other.
ORDER = [
    ["base"], ["frame"], ["unit"], ["maths"], ["finding"], ["ref"], ["program"], ["step"], ["solid"], ["plan"], ["calc"],
    ["study"], ["compose"], ["prove"], ["begin", "search", "learn"], ["output"], ["app"],
]
RANK = {name: rank for rank, row in enumerate(ORDER) for name in row}
SPLIT = {"calc", "output", "app"}  # here each subfolder is a floor of its own
STANDS_ON = {("output/papers", "output/drawings"), ("app/serve", "app/cli")}  # equals that are none; never the other way

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')
KERNEL_HEADER = re.compile(r"\.(hxx|lxx|gxx)$|^(opencascade|oce)/")
KERNEL_NAME = re.compile(r"\b(TopoDS|TopExp|TopAbs|TopLoc|TopTools|BRep[A-Za-z]*|Geom2d|GeomAbs|STEPControl|IFSelect|gp)_[A-Z]\w*")
IMPURE_HEADERS = {
    "iostream", "fstream", "cstdio", "stdio.h", "chrono", "ctime", "time.h", "random", "filesystem", "iomanip",
    "locale", "clocale", "locale.h", "unistd.h", "fcntl.h", "sys/stat.h", "sys/time.h", "print", "syncstream",
}
IMPURE_WORDS = re.compile(
    r"\bstd::(cout|cerr|clog|rand|srand|random_device|setlocale|exit|quick_exit|abort|stod|stof|strtod|system)\b"
    r"|\b(printf|puts|fprintf|strtod|atof|setlocale|abort|exit)\s*\(")
ENVIRONMENT = re.compile(r"\b(std::|secure_)?getenv\s*\(")  # output/ may ask for the folder of temporary files
SELF_NOTES = re.compile(r"\b(TO" r"DO|FIX" r"ME|X" r"XX|HACK)\b")


def floor_of(parts):
    """('calc', 'lifting', 'rwl.cpp') -> ('calc', 'calc/lifting')"""
    top = parts[0]
    own = "/".join(parts[:2]) if top in SPLIT and len(parts) > 2 else top
    return top, own


def without_comments(text):
    """Blanks comments and keeps line numbers. Strings are blanked too, except those of #include lines."""
    def blank(match):
        return re.sub(r"[^\n]", " ", match.group(0))
    out = []
    token = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])+\'|R"(\w*)\(.*?\)\1"', re.S)
    position = 0
    for match in token.finditer(text):
        start = text.rfind("\n", 0, match.start()) + 1
        line = text[start:match.start()]
        out.append(text[position:match.start()])
        keep = match.group(0)[0] == '"' and re.match(r"\s*#\s*include\s*$", line)
        out.append(match.group(0) if keep else blank(match))
        position = match.end()
    out.append(text[position:])
    return "".join(out)


def slips_of(root, path):
    """Yields (line, rule, what) for one source file."""
    parts = path.relative_to(root / "src").parts
    top, own = floor_of(parts)
    is_test = path.name.endswith(("_test.cpp", "_for_tests.h"))
    raw = path.read_text(encoding="utf-8")
    for number, line in enumerate(raw.splitlines(), 1):
        if SELF_NOTES.search(line):
            yield number, "words", "a note to self belongs in no source"
    if top not in RANK:
        yield 1, "floor", f"src/{top} is no known floor; give it its place in tools/floors.py and docs/floors.md"
        return
    for number, line in enumerate(without_comments(raw).splitlines(), 1):
        include = INCLUDE.match(line)
        if include:
            yield from ((number, *slip) for slip in include_slips(root, path, top, own, is_test, *include.groups()))
            continue
        kernel = KERNEL_NAME.search(line)
        if kernel and not (top == "solid" and path.suffix == ".cpp"):
            yield number, "kernel", f"{kernel.group(0)} outside src/solid/*.cpp"
        word = IMPURE_WORDS.search(line)
        if word and top != "app" and not is_test:
            yield number, "pure", f"{word.group(0).rstrip('( ')} below the faces"
        if ENVIRONMENT.search(line) and top not in ("app", "output") and not is_test:
            yield number, "pure", "getenv below output/"


def include_slips(root, path, top, own, is_test, bracket, name):
    """Yields (rule, what) for one #include."""
    if KERNEL_HEADER.search(name):
        if not (top == "solid" and path.suffix == ".cpp"):
            yield "kernel", f"{name} outside src/solid/*.cpp"
        return
    if bracket == "<":
        if name in IMPURE_HEADERS and top == "calc" and not is_test:
            yield "pure", f"<{name}> in a science"
        return
    if is_test and ((root / "tests" / name).exists() or name.startswith("fuzz/") and (root / name).exists()):
        return
    if not (root / "src" / name).exists():
        yield "missing", f'"{name}" is no file under src/'
        return
    other_top, other = floor_of(pathlib.PurePosixPath(name).parts)
    if other == own or other_top not in RANK or (own == other_top == "app"):  # src/app/main.cpp knows both faces
        return
    if (own, other) in STANDS_ON:
        return
    if top == "calc" and other_top == "plan":
        yield "science", f'"{name}": a science never includes plan/'
    elif top == "calc" and other_top == "calc":
        yield "science", f'"{name}": a science never includes another'
    elif RANK[other_top] >= RANK[top]:
        yield "floor", f'"{name}": {other} does not stand lower than {own}'


def main():
    options = argparse.ArgumentParser(description="the floor check")
    options.add_argument("--root", default=pathlib.Path(__file__).resolve().parent.parent, type=pathlib.Path)
    root = options.parse_args().root.resolve()
    files = sorted(p for p in (root / "src").rglob("*") if p.suffix in (".h", ".cpp", ".hpp", ".cc"))
    if not files:
        print("floors: no sources found under", root / "src")
        return 1
    count = 0
    for path in files:
        for line, rule, what in slips_of(root, path):
            print(f"{path.relative_to(root)}:{line}: {rule}: {what}")
            count += 1
    print(f"floors: {len(files)} files, {count} slips")
    return 1 if count else 0


if __name__ == "__main__":
    sys.exit(main())
