#!/usr/bin/env python3
"""Runs the commands shown in the documents: every line of a fenced block that starts with `build/fettle` or `fettle` and
has no placeholder in it (capitals such as NAME, or "...") must do what it says: end with 0, 1 or 4, or with 2 when its
comment says "refused".

usage: tools/snippets.py PROGRAM FILE...
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile


def commands_of(text):
    """Yields (line number, command, comment) for each runnable line of a fenced block; lines ending in \\ are joined."""
    fenced, held, start = False, "", 0
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("```"):
            fenced, held = not fenced, ""
            continue
        if not fenced:
            continue
        line = line.strip()
        if line.startswith("$ "):
            line = line[2:]
        if held:
            line = held + " " + line
        if not re.match(r"(build/)?fettle\s+[^=\s]", line):  # "fettle = 1" is a line of a plan
            continue
        start = start if held else number
        if line.endswith("\\"):
            held = line[:-1].strip()
            continue
        held = ""
        command, _, comment = line.partition("  # ")
        command = re.split(r"\s{3,}(?=\S)", command)[0]  # an explanation stands well apart on the same line
        if re.search(r"\.\.\.|\b[A-Z]{3,}\b(?!\d)|<|key=value", re.sub(r"'[^']*'", "", command)):
            continue
        yield start, command, comment


class Runner:
    """Runs the commands of one document in order. What a command writes goes to a scratch folder, where later commands of the
    same document find it; the demo's models are made there too."""

    def __init__(self, program, scratch):
        self.program, self.scratch, self.written = program, scratch, {}

    def run(self, command):
        line = re.sub(r"^(build/)?fettle", '"$PROGRAM"', command)
        into = re.search(r"--(?:into|out) (\S+)", line)
        if into:
            self.written[into.group(1)] = os.path.join(self.scratch, os.path.basename(into.group(1).rstrip("/")))
        for name, place in self.written.items():
            line = re.sub(rf"(?<![\w/.]){re.escape(name)}(?![\w.])", place, line)
        if "plans/demo/models" in line:
            models = os.path.join(self.scratch, "models")
            if not os.path.isdir(models):
                os.mkdir(models)
                subprocess.run([self.program, "demo-models", models], check=True, capture_output=True)
            line = line.replace("plans/demo/models", models)
        return subprocess.run(["bash", "-c", line], capture_output=True, text=True, timeout=300, stdin=subprocess.DEVNULL,
                              env={**os.environ, "PROGRAM": self.program})


def main():
    program = os.path.abspath(sys.argv[1])
    failed = count = 0
    for name in sys.argv[2:]:
        with tempfile.TemporaryDirectory() as scratch:
            runner = Runner(program, scratch)
            for number, command, comment in commands_of(pathlib.Path(name).read_text(encoding="utf-8")):
                if re.search(r"\bfettle (serve|search|demo-models)\b", command):
                    continue  # these do not end by themselves, or write into the tree
                count += 1
                done = runner.run(command)
                expected = {2} if "refused" in comment else {0, 1, 4}
                if done.returncode not in expected:
                    failed += 1
                    print(f"{name}:{number}: ends with {done.returncode}: {command}\n{done.stderr[-600:]}")
    print(f"snippets: {count} commands in the documents run, {failed} do not do what is said")
    return 1 if failed or count == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
