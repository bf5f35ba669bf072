#!/usr/bin/env python3
"""`GET /api/program`: the program of an operation as the page walks through it.

usage: tests/serve_program.py PROGRAM
"""
import http.client
import json
import math
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import threading

root = pathlib.Path(__file__).resolve().parent.parent
program = str(pathlib.Path(sys.argv[1]).resolve())
failures = []
checks = 0


def check(what, true, found=""):
    global checks
    checks += 1
    if not true:
        failures.append(what)
        print(f"FAILED: {what}\n{str(found)[:1200]}")


def ask(port, path, body=None):
    c = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    head = {"Host": f"127.0.0.1:{port}"}
    if body is None:
        c.request("GET", path, headers=head)
    else:
        c.request("POST", path, json.dumps(body), head | {"X-Fettle": "1", "Content-Type": "application/json"})
    r = c.getresponse()
    data = r.read()
    c.close()
    return r.status, json.loads(data)


def look(port, folder):
    status, a = ask(port, "/api/program?path=plan-0.toml&operation=OP30")
    check("it comes", status == 200, a)
    if status != 200:
        return
    check("made from the plan, timed", a["from"] == "made" and a["timed"] and a["units"] == "m", a["notes"])
    lines, moves = a["text"], a["moves"]
    check("eight nests of two pallets", [n["id"] for n in a["nests"]] == [f"{p}.{n}" for p in (1, 2) for n in (1, 2, 3, 4)], a["nests"])
    check("lines are there", all(1 <= m["line"] <= len(lines) for m in moves))
    check("time runs on without gaps", all(abs(b["start"] - a_["start"] - a_["seconds"]) < 2.1e-3 for a_, b in zip(moves, moves[1:])))
    check("the total is the end", abs(moves[-1]["start"] + moves[-1]["seconds"] - a["total"]) < 0.01, a["total"])
    # seconds of the tools add up from the moves, and the nests' from the tools'
    for k, t in enumerate(a["tools"]):
        own = sum(m["seconds"] for m in moves if m["tool"] == k)
        check(f"seconds of {t['name']}", abs(own - t["seconds"]) < 0.02, (own, t))
        for nest, s in t["nests"].items():
            own = sum(m["seconds"] for m in moves if m["tool"] == k and m["nest"] == nest)
            check(f"seconds of {t['name']} at {nest}", abs(own - s) < 0.02, (own, s))
    # where holes and screws are in the part is known from the plan: the drill comes down there, at every nest
    at = {n["id"]: n["at"] for n in a["nests"]}
    drill = next(k for k, t in enumerate(a["tools"]) if t["name"] == "T17")
    deep = {}
    for m in moves:
        if m["tool"] == drill and m["kind"] == "feed" and m.get("depth", 0) > 0:
            spot = tuple(round(1e3 * (m["to"][i] - at[m["nest"]][i]), 2) + 0.0 for i in (0, 1))
            deep.setdefault(m["nest"], set()).add(spot)
    check("the drill cuts at every nest, at the same places of the part", len(deep) == 8 and len({frozenset(s) for s in deep.values()}) == 1, deep)
    # T11's profile leaves the part's 132 by 93 mm outline by its radius, within the lead-in
    cutter = next(t for t in a["tools"] if t["name"] == "T11")
    k = a["tools"].index(cutter)
    for m in moves:
        if m["tool"] == k and m.get("depth", 0) > 0 and m["nest"]:
            x, y = (m["to"][i] - at[m["nest"]][i] for i in (0, 1))
            check("T11 cuts about the part", abs(x) < 0.066 + 2 * cutter["diameter"] and abs(y) < 0.047 + 2 * cutter["diameter"], m)
            check("what it takes is said", m["rate"] > 0 and "deep" in m["engaged"] and 0 < m["arc"] <= 2 * math.pi + 1e-6, m)
            break
    rapid = [m for m in moves if m["kind"] == "rapid" and m.get("depth")]
    check("no quick move takes metal", not rapid, rapid[:2])
    wrong = [f["id"] for f in a["findings"] if f["state"] == "outside" and ".program." in f["id"]]
    check("no fault in a made program", not wrong, wrong)
    held = next((f for f in a["findings"] if f["id"] == "op30.-.holds.T11"), {})
    check("the demo's known slip at T11's worst move, with its line", held.get("state") == "outside" and held["line"] in {m["line"] for m in moves if m["tool"] == k}, held)
    check("what is inside is only counted", a["counts"]["inside"] > 20 and all(f["state"] != "inside" for f in a["findings"]), a["counts"])
    check("nothing left out of the demo", a["left_out"] == {"moves": 0, "lines": 0, "findings": 0}, a["left_out"])
    check("same answer again", ask(port, "/api/program?path=plan-0.toml&operation=OP30")[1] == a)

    # the program of a trial: another feed takes another time; the file and its program stay as they are
    hash_ = ask(port, "/api/plan?path=plan-0.toml")[1]["hash"]
    tried = {"path": "plan-0.toml", "hash": hash_, "operation": "OP30", "changes": [{"key": "operation.OP30.cut.T12.feed", "value": "502 mm/min"}]}
    before = (folder / "plan-0.toml").read_text()
    status, b = ask(port, "/api/program", tried)
    check("a trial has its program", status == 200 and b["hash"] != a["hash"], str(b)[:300])
    took = [{t["name"]: t["seconds"] for t in x["tools"]} for x in (a, b)]
    check("half the feed takes the finishing cutter longer", took[1]["T12"] > 1.5 * took[0]["T12"], took)
    check("and no other tool", all(abs(took[0][t] - took[1][t]) < 0.05 for t in took[0] if t != "T12"), took)
    check("nothing is written, and the file's own is as before", (folder / "plan-0.toml").read_text() == before and ask(port, "/api/program?path=plan-0.toml&operation=OP30")[1] == a)
    check("a text that nobody has in front of him", ask(port, "/api/program", tried | {"hash": "0" * 32})[0] == 409)
    check("a change that is none", ask(port, "/api/program", tried | {"changes": []})[0] == 400)

    status, inch = ask(port, "/api/program?path=plan-0.toml&operation=OP30&units=inch")
    said = next(m["engaged"] for m in inch["moves"] if "engaged" in m)
    check("words in inches, places in metres", status == 200 and " in deep" in said and "in³/min" in said and abs(inch["nests"][0]["at"][0] - a["nests"][0]["at"][0]) < 1e-9, said)

    # two at once, and another request in between: nobody waits for ever and both say the same
    out = [None, None, None]
    asked = ["/api/program?path=plan-0.toml&operation=OP20", "/api/program?path=plan-0.toml&operation=OP20", "/api/plans"]
    threads = [threading.Thread(target=lambda i=i: out.__setitem__(i, ask(port, asked[i]))) for i in range(3)]
    [t.start() for t in threads]
    [t.join() for t in threads]
    check("two at once", out[0] == out[1] and out[0][0] == 200 and out[2][0] == 200, [o and o[0] for o in out])

    status, e = ask(port, "/api/program?path=plan-0.toml&operation=OP31")
    check("no such operation, the nearest is said", status == 404 and e["problems"][0]["near"] in ("OP30", "OP10a", "OP10b"), e)
    check("nothing to make", ask(port, "/api/program?path=plan-0.toml&operation=G10T")[0] == 400)
    check("no way out of the folder", ask(port, "/api/program?path=../plan-0.toml&operation=OP30")[0] in (400, 403, 404))

    # a plan that names a program: that one is shown, and what is wrong with it has its line
    text = (folder / "plan-0.toml").read_text()
    own = "\n".join(lines) + "\n"
    (folder / "mine.nc").write_text(own)
    named, n = re.subn(r'(id = "OP30"\n)', r'\1program = "mine.nc"\n', text, count=1)
    check("the demo can name it", n == 1)
    (folder / "named.toml").write_text(named)
    status, b = ask(port, "/api/program?path=named.toml&operation=OP30")
    check("the program that the plan names", status == 200 and b["from"] == "plan" and b["file"] == "mine.nc" and b["moves"] == moves, str(b)[:400])
    (folder / "mine.nc").write_text(own.replace("M8\n", "\n", 1))
    status, b = ask(port, "/api/program?path=named.toml&operation=OP30")
    dry = [f for f in b.get("findings", []) if f["state"] == "outside"]
    check("a changed file is read again; its fault has a line", status == 200 and dry and all(f["line"] > 0 for f in dry), str(b.get("findings"))[:600])
    (folder / "mine.nc").write_text(own.replace("G43", "G434", 1))
    status, b = ask(port, "/api/program?path=named.toml&operation=OP30")
    check("no program: the place is said", status == 400 and re.search(r"mine\.nc:\d+:\d+", b["problems"][0]["message"]), b)


with tempfile.TemporaryDirectory() as d:
    folder = pathlib.Path(d).resolve()
    for name in ("plan-0.toml", "shop.toml", "castings.csv", "f4-run.csv", "f4-gauge-study.csv", "first-article.csv", "load-times.csv"):
        if (root / "plans/demo" / name).exists():
            shutil.copy(root / "plans/demo" / name, folder / name)
    p = subprocess.Popen([program, "serve", str(folder), "--port", "0"], stdout=subprocess.PIPE, text=True)
    try:
        said = ""
        while "Stop with" not in said:
            line = p.stdout.readline()
            if not line:
                raise SystemExit(f"the server did not come up: {said}")
            said += line
        look(int(re.search(r"127\.0\.0\.1:(\d+)/", said).group(1)), folder)
    finally:
        p.terminate()
        p.wait()
print(f"program route: {checks} checks, {len(failures)} slips")
sys.exit(1 if failures else 0)
