#!/usr/bin/env python3
"""Which sources of a target may be compiled together, in one go.

Sources compiled together see each other's own names (anonymous namespaces, using-declarations). Two go together only when
neither has a name of its own that the other has or calls. Prints one line a group: file;file;file. What cannot go with any other
stands in no line. Used by CMakeLists.txt when FETTLE_UNITY is on; the same files give the same groups.
usage: together.py MOST_FILES MOST_LINES FILE...
"""
import functools
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent

WORD = r"[A-Za-z_]\w*"
KEYWORDS = {"TEST", "TEST_F", "TEST_P", "INSTANTIATE_TEST_SUITE_P", "TYPED_TEST", "TYPED_TEST_SUITE", "static_assert", "if", "for",
            "while", "switch", "return", "decltype", "alignas", "operator", "sizeof", "noexcept", "explicit"}


@functools.lru_cache(maxsize=None)
def spaces_of(header):
    """Namespaces that a header of the tree opens, as "fettle::tolerance::test"."""
    for folder in ("src", "tests"):
        path = ROOT / folder / header
        if path.exists():
            return frozenset(re.findall(r"^namespace ([\w:]+) \{", path.read_text(encoding="utf-8"), re.M))
    return frozenset()


class Source:
    def __init__(self, path):
        self.path = path
        with open(path, encoding="utf-8") as f:
            self.text = f.read()
        self.lines = self.text.count("\n")
        self.own = {}      # name of its own -> what it stands for ("" : its own thing)
        self.alone = False
        self.spaces = set()  # namespaces opened by it and by what it includes: two that end alike hide each other
        self.read()
        for header in re.findall(r'^#include "([^"]+)"', self.text, re.M):
            self.spaces |= spaces_of(header)
        self.spaces |= set(re.findall(r"^namespace ([\w:]+) \{", self.text, re.M))
        code = re.sub(r'"(\\.|[^"\\\n])*"|//[^\n]*', " ", self.text)
        self.calls = set(re.findall(r"(?<![\w.>:])(" + WORD + r")\s*[({<]", code))
        self.words = set(re.findall(WORD, code))

    def read(self):
        anonymous = False
        raw = None
        lines = self.text.split("\n")
        for number, line in enumerate(lines):
            if raw is not None:  # inside a raw string that began on an earlier line
                if raw in line:
                    raw = None
                continue
            begun = re.search(r'R"([^(\s]*)\(', line)
            if begun and ')' + begun.group(1) + '"' not in line[begun.end():]:
                raw = ')' + begun.group(1) + '"'
            if line == "namespace {":
                anonymous = True
                continue
            if re.match(r"\}\s*// namespace\s*$", line):
                anonymous = False
                continue
            if line.startswith(("#define", "using enum ")):
                self.alone = True  # reaches further than its own end
            if not line or line[0] in " }#/\t)":
                continue
            if line.startswith("using namespace "):
                continue
            m = re.match(r"using ((?:\w+::)*)(" + WORD + r");", line)
            if m:
                self.own[m.group(2)] = m.group(1)
                continue
            m = re.match(r"using (" + WORD + r") = (.*);", line)
            if m:
                self.own[m.group(1)] = m.group(2)
                continue
            m = re.match(r"namespace (" + WORD + r") = ([\w:]+);", line)
            if m:
                self.own[m.group(1)] = m.group(2)
                continue
            if not anonymous and not re.match(r"static ", line):
                continue
            m = re.match(r"(?:template <.*> )?(?:struct|class|enum class|enum|union) (" + WORD + r")", line)
            if m:
                self.own[m.group(1)] = ""
                continue
            if re.match(r"(inline )?(constexpr|const) ", line) and "(" not in line.split("=")[0]:
                # One line may say several: constexpr double hour = 3600, week = 40 * hour;
                whole = line
                while ";" not in whole and number + 1 < len(lines) and len(whole) < 2000:
                    number += 1
                    whole += lines[number]
                for name in re.findall(r"(?:[\s*&]|^)(" + WORD + r")(?:\[\w*\])?\s*(?:=|\{)", whole):
                    self.own[name] = ""
                continue
            for name in re.findall(r"(?<![\w:])(" + WORD + r")\s*(?:\(|\[|=|\{|;)", line):
                if name in KEYWORDS:
                    continue
                self.own[name] = ""
                break

    def clashes(self, other):
        last = {n.split("::")[-1]: n for n in self.spaces}
        if any(last.get(n.split("::")[-1], n) != n for n in other.spaces):
            return True
        for name, stands in self.own.items():
            if name in other.own:
                if stands == "" or other.own[name] != stands:
                    return True
            elif stands == "" and (name in other.calls or (name[0].isupper() and name in other.words)):
                return True
            elif stands != "" and name in other.words and other.own.get(name) != stands:
                # a using-declaration of the one may hide what the other means by the same word
                if name[0].islower() or stands.startswith("std"):
                    return True
        return False


def main():
    most_files, most_lines = int(sys.argv[1]), int(sys.argv[2])
    sources = [Source(p) for p in sorted(sys.argv[3:])]
    groups = []
    for s in sources:
        if s.alone:
            continue
        for g in groups:
            if len(g) >= most_files or sum(x.lines for x in g) + s.lines > most_lines:
                continue
            if any(s.clashes(x) or x.clashes(s) for x in g):
                continue
            g.append(s)
            break
        else:
            groups.append([s])
    for g in groups:
        if len(g) > 1:
            print(";".join(x.path for x in g))


main()
