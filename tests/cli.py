#!/usr/bin/env python3
"""The program as people run it: exit codes, what goes to which stream, terminals, signals, files in the way.

usage: tests/cli.py PROGRAM
"""
import json
import math
import os
import pathlib
import pty
import re
import select
import shutil
import signal
import stat
import struct
import subprocess
import sys
import tempfile
import time

root = pathlib.Path(__file__).resolve().parent.parent
program = str(pathlib.Path(sys.argv[1]).resolve())
failures = []
checks = 0


def check(what, true, found=""):
    global checks
    checks += 1
    if not true:
        failures.append(what)
        print(f"FAILED: {what}\n{str(found)[:1500]}")


def run(*args, env=None, cwd=None, stdin=None):
    e = dict(os.environ, **(env or {}))
    return subprocess.run([program, *map(str, args)], capture_output=True, text=True, env=e, cwd=cwd or demo, stdin=subprocess.DEVNULL, timeout=300)


def in_terminal(columns, *args, env=None):
    """Standard output and error of the program in a terminal of so many columns."""
    pid, fd = pty.fork()
    if pid == 0:
        os.chdir(demo)
        e = dict(os.environ, TERM="xterm", **(env or {}))
        os.execve(program, [program, *map(str, args)], e)
    import fcntl, struct, termios
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    out = b""
    while True:
        try:
            part = os.read(fd, 65536)
        except OSError:
            break
        if not part:
            break
        out += part
    os.waitpid(pid, 0)
    # A slow machine says how far it is, on a line that is written over and wiped before the results.
    return re.sub(r"\r[^\r\n]*\x1b\[K", "", out.decode().replace("\r\n", "\n"))


escape = re.compile(r"\x1b\[[0-9;]*[mK]")
scratch = pathlib.Path(tempfile.mkdtemp(prefix="fettle-cli-"))
demo = scratch / "demo"
shutil.copytree(root / "plans" / "demo", demo)  # nothing is written into the tree
small = scratch / "small.toml"
lift = """fettle = 1
[plan]
name = "box"
[[lift]]
id = "box"
what = "given mass"
mass = "MASS kg"
from = { reach = "30 cm", height = "80 cm" }
to = { reach = "30 cm", height = "90 cm" }
frequency = "0.2 1/min"
hours = "1 h"
"""


def plan(mass, grip='coupling = "good"\n'):
    small.write_text(lift.replace("MASS", mass) + grip)
    return small


try:
    # ---- exit codes ----
    check("all inside ends with 0", run("study", plan("5")).returncode == 0)
    check("something outside ends with 1", run("study", plan("40")).returncode == 1)
    check("something open ends with 4", run("study", plan("5", "")).returncode == 4)
    r = run("study", plan("5 foot"))
    check("bad input ends with 2", r.returncode == 2, r)
    check("bad input is said with file, line and column", re.search(r"small\.toml:7:\d+: ", r.stderr), r.stderr)
    check("bad input leaves standard output empty", r.stdout == "", r.stdout)
    for args in (["study", "not-there.toml"], ["study"], ["study", "plan-0.toml", "--colour"], ["nonsense"], [],
                 ["explain", "plan-0.toml"], ["diff", "plan-0.toml", "not-there.toml"], ["rewrite", "not-there.toml"],
                 ["uses", "not-there.toml", "."], ["study", "plan-0.toml", "--threads", "0"],
                 ["study", "plan-0.toml", "--seed", "-3"]):
        r = run(*args)
        check(f"{args} ends with 2", r.returncode == 2, (r.returncode, r.stderr))
        check(f"{args} says why", r.stderr.strip() != "", r)
        check(f"{args} says no more than a screen", len(r.stderr) < 4000, r.stderr)

    # ---- control programs ----
    made = scratch / "programs"
    check("a program is made", run("program", "make", "plan-1.toml", "--operation", "OP10b", "--out", made).returncode == 0)
    nc = made / "op10b.nc"
    r = run("program", "read", nc, "--json")
    check("a program is read as JSON", r.returncode in (0, 4) and json.loads(r.stdout), r.stderr)
    r = run("program", "time", nc, "--plan", "plan-1.toml", "--operation", "OP10b")
    check("a program is timed by tool", r.returncode in (0, 4) and "T1" in r.stdout, r)
    times = json.loads(run("program", "time", nc, "--plan", "plan-1.toml", "--operation", "OP10b", "--json").stdout)["programs"][0]
    check("times are the same as JSON, tool by tool",
          times["operation"] == "OP10b" and math.isclose(sum(t["seconds"]["total"] for t in times["tools"]), times["seconds"]["total"])
          and f"{times['seconds']['total'] / 60:.2f} min for" in r.stdout
          and [t["plan_seconds_a_part"] for t in times["tools"] if t["tool"] == "T1"] == [30], times)
    r = run("program", "make", "plan-1.toml", "--operation", "OP10b", "--json")
    one = json.loads(r.stdout)["operations"][0]
    check("a program is made as JSON, its texts in it", r.returncode == 0 and one["texts"]["program"] == nc.read_text()
          and one["tools"][0]["tool"] == "T1" and math.isclose(sum(t["seconds_a_part"] for t in one["tools"]), one["seconds_a_part"]), one)
    r = run("program", "make", "plan-1.toml", "--out", scratch / "all programs", "--json")
    left = json.loads(r.stdout)["operations"]
    check("with a folder its files are named, and what is not made",
          r.returncode == 4 and any(o["not_made"] for o in left)
          and all((scratch / "all programs" / f).exists() for o in left for f in o["files"].values()), r)
    r = run("program", "prove", "plan-1.toml", nc, "--quick", "--json")
    proof = json.loads(r.stdout)
    edge = [f for f in proof["findings"] if f["id"].startswith("OP10b.program.edge")]
    check("a face mill that leaves over an edge is found with its line",
          len(edge) == 1 and edge[0]["state"] == "tight" and edge[0]["line"] > 0, edge)
    r = run("program", "prove", "plan-1.toml", nc, "--quick", "--castings", "7", "--measured")
    check("measured castings are put into the nests", r.returncode in (0, 1, 4) and "moves;" in r.stdout, r)
    wrong = scratch / "wrong.nc"
    wrong.write_text("G21\nG0 X1 A90\nM30\n")
    r = run("program", "read", wrong)
    check("a word that is not followed is refused in its place", r.returncode == 2 and re.search(r"wrong\.nc:2:7: ", r.stderr), r)
    for args in (["program", "read", "not-there.nc"], ["program", "time"], ["program", "prove", "plan-1.toml", wrong],
                 ["program", "prove", "plan-1.toml", nc, "--castings", "-1"]):
        r = run(*args)
        check(f"{args} ends with 2 and says why", r.returncode == 2 and r.stderr.strip() != "", r)

    # ---- begin: the raw casting as a model ----
    check("the demo's models are written", run("demo-models", demo).returncode == 0)
    part = ["begin", "wvb3.step", "--shop", "shop.toml", "--answers", "answers.toml"]
    raw, first = scratch / "raw.step", scratch / "first.toml"
    for args, why in ((["begin", "wvb3.step", "--raw", raw], "--shop"),
                      (part + ["--cast", "wvb3-casting.step", "--raw", raw], "not both"),
                      (part + ["--into", raw, "--raw", raw], "two names"),
                      (part + ["--over", "--raw", "wvb3.step"], "another name"),
                      (part + ["--over", "--raw", "shop.toml"], "another name"),
                      (part + ["--raw"], "raw")):
        r = run(*args)
        check(f"{args} ends with 2 and says why", r.returncode == 2 and why in r.stderr, r)
        check(f"{args} writes nothing", not raw.exists() and not first.exists())
    # ./demo leaves folders there.
    whole = lambda: {x: x.read_bytes() for x in demo.rglob("*") if x.is_file()}
    before = whole()
    r = run(*part, "--into", first, "--raw", raw)
    check("a raw casting is written beside the plan", r.returncode == 0 and raw.exists() and f"wrote {raw}: " in r.stderr, r)
    check("nothing else is touched", before == whole())
    said = re.search(r"the raw model weighs ([\d.]+) kg; the plan reckons ([\d.]+) kg", r.stderr)
    check("its weight is what the plan reckons", said and abs(float(said[1]) / float(said[2]) - 1) < 0.02, r.stderr)
    there = raw.read_bytes()
    r = run(*part, "--raw", raw)
    check("a raw casting that is there is not written over", r.returncode == 2 and "--over" in r.stderr and raw.read_bytes() == there, r)
    r = run("begin", "wvb3.step", "--cast", raw)
    sizes = lambda text: dict(re.findall(r'\[\[casting\.size\]\]\nid = "([^"]+)"\n(?:.+\n)*?raw = "([\d.]+) mm"', text))
    ordered, back = sizes(first.read_text()), sizes(r.stdout)
    check("the raw casting is read again as the casting", r.returncode == 0 and "casting model: " in r.stderr, r)
    check("with the sizes that were ordered", {"thickness", "length", "width"} <= set(back) and
          all(abs(float(ordered[k]) - float(back[k])) < 2e-3 for k in back if k in ordered), (ordered, back))
    raw.write_text("not a model")
    check("a casting that is no STEP file ends with 2", run("begin", "wvb3.step", "--cast", raw).returncode == 2)

    # ---- streams, colour, width ----
    r = run("study", "plan-0.toml")
    check("the demo plan has something outside", r.returncode == 1, r.stderr)
    check("no escape codes where there is no terminal", "\x1b" not in r.stdout + r.stderr)
    check("a line is at most 100 wide where there is no terminal", max(map(len, r.stdout.split("\n"))) <= 100)
    check("the casting is named first", "Casting 13 does not clean up" in r.stdout[:600], r.stdout[:600])
    plain = r.stdout
    for columns in (60, 80, 100, 130, 200):
        t = in_terminal(columns, "study", "plan-0.toml", "--quick")
        check(f"colour in a terminal of {columns}", "\x1b[" in t)
        widest = max(len(x) for x in escape.sub("", t).split("\n"))
        check(f"no line longer than a terminal of {columns}", widest <= min(max(columns, 80), 130), widest)
    t = in_terminal(100, "study", "plan-0.toml", "--quick", env={"NO_COLOR": "1"})
    check("NO_COLOR is heeded", "\x1b" not in t, t[:300])
    check("the same words with and without colour",
          escape.sub("", in_terminal(100, "study", "plan-0.toml", "--quick")) == run("study", "plan-0.toml", "--quick").stdout)

    # ---- JSON ----
    r = run("study", "plan-0.toml", "--json")
    j = json.loads(r.stdout)
    check("JSON has the form's version", j["fettle_findings"] == 1)
    check("JSON ends like the text", r.returncode == 1)
    check("JSON again is the same to the byte", run("study", "plan-0.toml", "--json").stdout == r.stdout)
    check("JSON with four threads is the same to the byte",
          run("study", "plan-0.toml", "--json", "--threads", "4").stdout == r.stdout)
    check("another seed is another draw", run("study", "plan-0.toml", "--json", "--seed", "7").stdout != r.stdout)
    # From here on the sample is smaller: what is tried does not hang on its size.
    whole_plan = (demo / "plan-0.toml").read_text()
    check("the demo plan says how many castings", whole_plan.count("castings = 20000") == 1)
    (demo / "plan-0.toml").write_text(whole_plan.replace("castings = 20000", "castings = 1000"))

    # ---- a folder ----
    into = scratch / "results"
    r = run("study", "plan-0.toml", "--into", into)
    check("--into ends like the study", r.returncode == 1, r.stderr)
    made = sorted(x.name for x in into.iterdir())
    check("--into writes everything", {"findings.json", "findings.txt", "study.pdf", "route.svg", "margins.svg", "pallet-1.svg",
                                       "locating-1.svg", "casting-1.svg"} <= set(made), made)
    check("--into says what it wrote", all(str(into / x) in r.stderr for x in made if x != "made-by-fettle.txt"), r.stderr)
    before = {x.name: x.read_bytes() for x in into.iterdir()}
    check("a second run writes over its own", run("study", "plan-0.toml", "--into", into).returncode == 1)
    check("and changes no byte", before == {x.name: x.read_bytes() for x in into.iterdir()})
    foreign = scratch / "foreign"
    foreign.mkdir()
    (foreign / "findings.json").write_text("mine")
    r = run("study", "plan-0.toml", "--quick", "--into", foreign)
    check("a foreign file ends with 2", r.returncode == 2, r)
    check("a foreign file is named", "findings.json" in r.stderr, r.stderr)
    check("a foreign file stays", [x.name for x in foreign.iterdir()] == ["findings.json"] and
          (foreign / "findings.json").read_text() == "mine")
    r = run("study", plan("5"), "--into", small)
    check("a file in the place of the folder ends with 2 or 3", r.returncode in (2, 3) and r.stderr, r)
    locked = scratch / "locked"
    locked.mkdir()
    locked.chmod(stat.S_IRUSR | stat.S_IXUSR)
    if os.access(locked, os.W_OK):  # root writes anywhere: a folder nobody can make a file in
        check_locked = "/proc/fettle-results"
    else:
        check_locked = locked
    r = run("study", plan("5"), "--into", check_locked)
    check("a folder that cannot be written ends with 2 or 3 and says so", r.returncode in (2, 3) and str(check_locked) in r.stderr, r)
    locked.chmod(stat.S_IRWXU)

    # ---- interrupted ----
    long_plan = scratch / "long.toml"
    text = (demo / "plan-0.toml").read_text().replace("castings = 20000", "castings = 100000")
    text = text.replace('shop = "shop.toml"', f'shop = "{demo / "shop.toml"}"').replace('"castings.csv"', f'"{demo / "castings.csv"}"')
    long_plan.write_text(text)
    for late in (False, True):
        stopped = scratch / f"stopped-{late}"
        start = time.monotonic()
        p = subprocess.Popen([program, "study", str(long_plan), "--into", str(stopped)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        if late:  # until it says how far it is
            ready, _, _ = select.select([p.stderr], [], [], 120)
            check("progress is said", bool(ready))
            check("progress only after the first second", time.monotonic() - start >= 1)
        else:
            time.sleep(0.3)
        p.send_signal(signal.SIGINT)
        out, err = p.communicate(timeout=60)
        check("interrupted: ends with 130", p.returncode == 130, (p.returncode, err))
        check("interrupted: nothing printed", out == "", out[:200])
        check("interrupted: nothing half-written", not stopped.exists() or not any(stopped.iterdir()))
        check("progress says what and how far", not late or re.search(r"[a-z]+.* \d+ %", err), err)
    check("no progress in the first second", run("study", plan("5")).stderr == "")
    # Interrupted while it writes: whatever is there is whole.
    for i in range(6):
        quick = scratch / f"writing-{i}"
        p = subprocess.Popen([program, "study", str(demo / "plan-0.toml"), "--quick", "--into", str(quick)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(0.04 + 0.06 * i)
        p.send_signal(signal.SIGINT)
        p.wait(30)
        if quick.exists():
            names = [x.name for x in quick.iterdir()]
            check("interrupted while writing: no leftovers", not [n for n in names if n.endswith(".tmp")], names)
            for x in quick.iterdir():
                b = x.read_bytes()
                whole = {"json": b.endswith(b"}\n"), "pdf": b.rstrip().endswith(b"%%EOF"), "svg": b.rstrip().endswith(b"</svg>"),
                         "txt": b.endswith(b"\n")}[x.suffix[1:]]
                check(f"interrupted while writing: {x.name} is whole", whole)

    # ---- explain ----
    r = run("explain", "plan-0.toml", "op30.pallet.lift")
    check("explain by id", r.returncode == 0 and "NIOSH" in r.stdout and "formula" in r.stdout, r)
    r = run("explain", "plan-0.toml", "goes_on")
    check("explain by a part of an id", r.returncode == 0 and r.stdout.startswith("op30.F7.goes_on"), r)
    r = run("explain", "plan-0.toml", "op30.F7.goes_onn")
    check("explain of no finding ends with 2", r.returncode == 2, r)
    check("explain of no finding gives the nearest", "op30.F7.goes_on" in r.stderr, r.stderr)
    r = run("explain", "plan-0.toml", "clean_up")
    check("explain of several lists them", r.returncode == 2 and "op30.F2.clean_up" in r.stderr and "casting.all.clean_up" in r.stderr, r)

    # ---- diff, rewrite, uses ----
    r = run("diff", "plan-0.toml", "plan-1.toml", "--quick")
    check("diff ends like the second plan", r.returncode == run("study", "plan-1.toml", "--quick").returncode, r.returncode)
    check("diff in the words of the trade", "torque: 22 N·m → 28 N·m" in r.stdout, r.stdout)
    r = run("rewrite", "plan-0.toml")
    check("rewrite ends with 0", r.returncode == 0, r.stderr)
    again = demo / "rewritten.toml"
    if again.write_text(r.stdout):
        a, b = json.loads(run("study", "plan-0.toml", "--json").stdout), json.loads(run("study", again.name, "--json").stdout)
        check("a rewritten plan gives the same findings", a["findings"] == b["findings"])
        check("rewrite of what it wrote changes nothing", run("rewrite", again.name).stdout == r.stdout)
    target = scratch / "target.toml"
    target.write_text("mine")
    r = run("rewrite", "plan-0.toml", "--into", target)
    check("rewrite writes over nothing unasked", r.returncode == 2 and target.read_text() == "mine", r)
    r = run("rewrite", "plan-0.toml", "--into", target, "--over")
    check("rewrite --over writes", r.returncode == 0 and target.read_text() != "mine", r)
    r = run("uses", demo / "shop.toml", demo)
    check("uses names the plans", r.returncode == 0 and "plan-0.toml" in r.stdout and "plan-1.toml" in r.stdout, r)
    r = run("uses", small, demo)
    check("uses of a file nobody names", r.returncode == 0 and "no plan" in r.stdout, r)

    # ---- shop ----
    r = run("shop", "plan-0.toml")
    check("shop of one plan fits, or says what does not", r.returncode in (0, 1) and "machine B" in r.stdout, r)
    alone = r.stdout
    whole = json.loads(run("study", "plan-0.toml", "--json").stdout)
    hours_of = lambda id: next(f["value"] for f in whole["findings"] if f["id"] == id) / 3600
    said = lambda text, who: float(next(line for line in text.splitlines() if line.startswith("  " + who)).split(who)[1].split()[0])
    check("shop and study count the same hours", abs(said(alone, "machine B") - hours_of("shop.B.hours")) < 0.051 and
          abs(said(alone, "people") - hours_of("shop.people.hours")) < 0.051, alone)
    honed = next(i["text"] for f in whole["findings"] for i in f["inputs"] if i["name"] == "share to hone now")
    check("shop hones the study's share", honed + " of the parts are honed" in " ".join(alone.split()), (honed, alone))
    r = run("shop", "plan-0.toml", "plan-1.toml")
    check("shop of two plans is over", r.returncode == 1 and "cannot all be made" in r.stdout, r)
    hours = lambda text: float(next(line for line in text.splitlines() if line.startswith("  machine B")).split()[2])
    check("shop adds the plans up", abs(hours(r.stdout) - hours(alone) - hours(run("shop", "plan-1.toml").stdout)) < 0.11, r.stdout)
    check("shop keeps its lines short", all(len(line) <= 100 for line in r.stdout.splitlines()), r.stdout)
    check("shop of the same plan twice ends with 2", run("shop", "plan-0.toml", "plan-0.toml").returncode == 2)
    empty = scratch / "empty"
    empty.mkdir()
    check("shop of a folder without plans ends with 2", run("shop", empty).returncode == 2)
    few = demo / "few.toml"
    few.write_text((demo / "plan-0.toml").read_text().replace("per_week = 240", "per_week = 24"))
    check("shop with hours to spare ends with 0", run("shop", "few.toml").returncode == 0)
    few.write_text((demo / "plan-0.toml").read_text().replace("per_week = 240\n", ""))
    check("shop without a demand ends with 4", run("shop", "few.toml").returncode == 4)
    few.unlink()

    # ---- levers ----
    r = run("levers", "plan-0.toml", "coaxial", "--threads", "2")
    check("levers of the coaxiality", r.returncode == 1 and "every pallet probed again" in r.stdout and "mends it" in r.stdout, r)
    check("levers name what else moves", "op30.pallet.swap" in r.stdout, r.stdout)
    check("levers keep their lines short", all(len(line) <= 100 for line in r.stdout.splitlines()), r.stdout)
    one = run("levers", "plan-0.toml", "coaxial", "--json").stdout
    check("levers are the same bytes at any thread count", one == run("levers", "plan-0.toml", "coaxial", "--json", "--threads", "3").stdout)
    rows = json.loads(one)["levers"]
    check("moving F4 into the other clamping is a lever", any(x["structural"] and x["name"].startswith("F4 ") and x["to"] == "OP30" and x["mends"] for x in rows), rows[:3])
    r = run("levers", "plan-0.toml", "coaxal")
    check("an unknown finding ends with 2 and names the nearest", r.returncode == 2 and "coaxial" in r.stderr, r)
    r = run("levers", "plan-0.toml", "F2")
    check("levers of several findings end with 2 and name them", r.returncode == 2 and "op30.F2.coaxial" in r.stderr, r)

    (demo / "plan-0.toml").write_text(whole_plan)

    # ---- listen ----
    def wave(name, sound, seconds=2.0, rate=48000):
        samples = bytearray()
        for i in range(int(seconds * rate)):
            samples += struct.pack("<h", max(-32768, min(32767, round(32767 * sound(i / rate)))))
        path = scratch / name
        path.write_bytes(b"RIFF" + struct.pack("<I", 36 + len(samples)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, rate, 2 * rate, 2, 16) + b"data" + struct.pack("<I", len(samples)) + samples)
        return path

    def ring(t):
        return sum(0.5 * math.exp(-0.018 * 2 * math.pi * 212.5 * (t - a)) * math.sin(2 * math.pi * 212.5 * (t - a)) for a in (0.2, 0.7, 1.2) if t >= a)

    tapped = wave("tap.wav", ring)
    r = run("listen", tapped, "--json")
    j = json.loads(r.stdout)
    check("a tap is heard", r.returncode == 0 and j["taps"] == 3 and abs(j["rings"][0]["frequency_hz"] - 212.5) < 0.1 and abs(j["rings"][0]["damping"] - 0.018) < 0.0005, j)
    check("a tap in words", "212.5 Hz" in run("listen", tapped).stdout)
    sung = wave("squeal.wav", lambda t: 0.2 * math.sin(2 * math.pi * 182.5 * t) + 0.3 * math.sin(2 * math.pi * 634.2 * t))
    r = run("listen", sung, "--speed", "2190 rpm", "--teeth", "5")
    check("a squeal is heard and speeds are named", r.returncode == 1 and "634.2 Hz" in r.stdout and "1903 rpm" in r.stdout and all(len(line) <= 100 for line in r.stdout.splitlines()), r)
    r = run("listen", sung, "--tool", "T11", "--plan", "plan-0.toml")
    check("speed and teeth come from the plan", r.returncode == 1 and "634.2 Hz" in r.stdout, r)
    r = run("listen", tapped, "--tool", "T11", "--plan", "plan-0.toml")
    check("taps of a tool are no squeal", r.returncode == 0 and "It rings at 212.5 Hz" in r.stdout, r)
    even = wave("even.wav", lambda t: 0.2 * math.sin(2 * math.pi * 182.5 * t) + 0.1 * math.sin(2 * math.pi * 365 * t))
    check("teeth alone are no chatter", run("listen", even, "--speed", "2190 rpm", "--teeth", "5").returncode == 0)
    check("a squeal without teeth ends with 2", run("listen", sung, "--speed", "2190 rpm").returncode == 2)
    check("a speed that is none ends with 2", run("listen", sung, "--speed", "5 mm", "--teeth", "5").returncode == 2)
    check("a tool that is not there ends with 2", run("listen", sung, "--tool", "T99", "--plan", "plan-0.toml").returncode == 2)
    r = run("listen", "plan-0.toml")
    check("what is no recording ends with 2 and one line", r.returncode == 2 and len(r.stderr.splitlines()) == 1, r)

    # ---- sample ----
    r = run("sample", "plan-0.toml", "--part", "4711")
    check("a sampled part shows its history", r.returncode in (0, 1, 4) and "What it was dealt" in r.stdout and "seat on its pins" in r.stdout, r)
    head, listed = r.stdout.splitlines()[0], r.stdout.split("What the drawing says of it")[1]
    nests = len(re.findall(r"^\[\[pallet\.nest\]\]", (demo / "plan-0.toml").read_text(), re.M))
    check("a nest is counted on its pallet", 1 <= int(re.search(r"nest (\d+) on pallet", head).group(1)) <= nests, head)
    check("one unit down the list", "µm" not in listed and " mm" in listed, listed)
    check("a bore that is honed shows both limits, and says whether it was bored too small", re.search(r"size: [\d.]+ mm \(22\.0000 mm to 22\.0090 mm; as bored, (no hone needed|before the hone)", " ".join(listed.split())), listed)
    check("the cost of a part stands in the terminal's study", "A good part costs " in run("study", "plan-0.toml", "--quick").stdout)
    for args, words in ((["stduy"], 'did you mean "study"'), (["program", "prvoe"], 'did you mean "prove"'), (["study", "plan-0.toml", "--inot", "x"], 'did you mean "--into"'),
                        (["diff", "plan-0.toml"], "usage: fettle diff PLAN-A PLAN-B"), ([], "a command is missing"), (["program"], "a command is missing")):
        m = run(*args)
        check(f"{args} is told what is meant", m.returncode == 2 and words in m.stderr and "usage: fettle" in m.stderr and not m.stdout, m)
    check("it is the same part every time", r.stdout == run("sample", "plan-0.toml", "--part", "4711").stdout)
    check("another seed is another part", r.stdout != run("sample", "plan-0.toml", "--part", "4711", "--seed", "2").stdout)
    j = json.loads(run("sample", "plan-0.toml", "--part", "4711", "--json").stdout)
    check("a sampled part as JSON", j["part"] == 4711 and j["requirements"] and j["errors"] and j["steps"], j)
    check("a part that was not drawn ends with 2", run("sample", "plan-0.toml", "--part", "20000").returncode == 2)
    check("a sample without a part ends with 2", run("sample", "plan-0.toml").returncode == 2)

    # ---- help ----
    for args in (["--help"], ["study", "--help"], ["--version"], ["schema"]):
        r = run(*args)
        check(f"{args} ends with 0 and prints", r.returncode == 0 and r.stdout.strip(), r)
finally:
    shutil.rmtree(scratch, ignore_errors=True)

print(f"{checks} checks, {len(failures)} failed")
sys.exit(1 if failures else 0)
