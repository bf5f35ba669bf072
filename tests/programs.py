#!/usr/bin/env python3
"""Two readers of control programs, written apart from one another, must find the same moves.

usage: tests/programs.py FETTLE [FOLDER]

Every tests/samples/programs/*.nc and *.ngc, and the composed programs of the demo's plan in both dialects, is read by
`fettle program read` and by tests/interpreter.py; the ends of all moves must agree within a millionth of a millimetre
(1e-9 m), with line, tool and zero, and so must the parameters. What stands beside a sample with the ending .json is known
beforehand (zeros, lengths, parameters, touches of the probe).
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
GOING = {"rapid", "feed", "clockwise", "counter", "probe"}
NEAR = 1e-6  # mm


def run(command):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=120, check=False)
    return done.returncode, done.stdout, done.stderr


def going(moves):
    """Moves that go somewhere: a move to where the tip is already counts for neither reader; circles always do."""
    out, last = [], None
    for m in moves:
        if m["kind"] not in GOING:
            last = None if m["kind"] == "tool" else last
            continue
        if last is not None and m["kind"] not in ("clockwise", "counter") and far(last, m["end"]) < NEAR:
            continue
        out.append(m)
        last = m["end"]
    return out


def far(a, b):
    return max(abs(x - y) for x, y in zip(a, b))


def compare(fettle, program, known=None, skip=False):
    """Words about the first difference, or an empty text; and how many moves were compared."""
    extra = (["--with", known] if known else []) + (["--skip"] if skip else [])
    code, out, err = run([fettle, "program", "read", program, "--json", *extra])
    if code not in (0, 4):
        return f"fettle ends with {code}: {err.strip()}", 0
    code, other, err = run([sys.executable, HERE / "interpreter.py", program, *extra])
    if code != 0:
        return f"the interpreter ends with {code}: {err.strip()}", 0
    ours, theirs = json.loads(out), json.loads(other)
    a, b = going(ours["moves"]), going(theirs["moves"])
    for x, y in zip(a, b):
        if far(x["end"], y["end"]) > NEAR or any(x[k] != y[k] for k in ("line", "kind", "tool", "zero")):
            return f"{x} against {y}", len(a)
    if len(a) != len(b):
        return f"{len(a)} moves against {len(b)}", len(a)
    for n, v in theirs["parameters"].items():
        if abs(ours["parameters"].get(n, 0.0) - v) > 1e-9:
            return f"#{n}: {ours['parameters'].get(n)} against {v}", len(a)
    return "", len(a)


def composed(fettle, folder):
    """Programs of the demo's plan with the values on paper that they carry: (program, file of what is known)."""
    plan = HERE.parent / "plans" / "demo" / "plan-1.toml"
    for dialect in ("classic", "o words"):
        into = pathlib.Path(folder) / dialect.replace(" ", "-")
        code, _, err = run([fettle, "program", "make", plan, "--dialect", dialect, "--out", into])
        if code not in (0, 4):
            sys.exit(f"fettle program make ends with {code}: {err}")
        for program in sorted(into.glob("*.n*c")):
            text = program.read_text()
            known = {"lengths": {str(h): 100 + 7.5 * h for h in range(1, 100)}, "parameters": {}, "touches": []}
            for remark in re.findall(r"\(on paper ([^)]*)\)", text):
                for number, value in re.findall(r"#(\d+) = ([-+.0-9]+)", remark):
                    known["parameters"][number] = float(value)
                touch = re.match(r"touch \d+ (\S+) (\S+) (\S+) (mm|in)$", remark)
                if touch:
                    unit = 25.4 if touch[4] == "in" else 1
                    known["touches"].append([float(v) * unit for v in touch.groups()[:3]])
            file = program.with_suffix(".json")
            file.write_text(json.dumps(known))
            yield program, file


def main():
    fettle = sys.argv[1]
    wrong = compared = 0
    with tempfile.TemporaryDirectory() as folder:
        samples = sorted(p for p in (HERE / "samples" / "programs").iterdir() if p.suffix in (".nc", ".ngc"))
        jobs = [(p, p.with_suffix(".json") if p.with_suffix(".json").exists() else None, False) for p in samples]
        jobs += [(p, k, True) for p, k, _ in jobs if p.name.startswith("skip")]
        jobs += [(p, k, False) for p, k in composed(fettle, folder)]
        for program, known, skip in jobs:
            words, moves = compare(fettle, program, known, skip)
            compared += moves
            wrong += words != ""
            print(f"{program.name}{' --skip' if skip else ''}: {words or f'{moves} moves agree'}")
    if compared < 1000:
        print(f"only {compared} moves were compared")
        wrong += 1
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
