#!/usr/bin/env python3
"""`fettle serve` as browsers, careless and hostile clients see it.

usage: tests/serve.py PROGRAM
"""
import http.client
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse

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


class Server:
    def __init__(self, *args, trusts=None):
        self.trusts = trusts  # a certificate: then everything is asked encrypted
        self.process = subprocess.Popen([program, "serve", *map(str, args), "--port", "0"], stdout=subprocess.PIPE, text=True)
        self.said = ""
        while "Stop with" not in self.said:
            line = self.process.stdout.readline()
            if not line:
                raise SystemExit(f"the server did not come up: {self.said}")
            self.said += line
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)/", self.said).group(1))

    def ask(self, method, path, body=None, headers=None, host=None, timeout=60):
        c = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        if self.trusts:
            c = http.client.HTTPSConnection("127.0.0.1", self.port, timeout=timeout, context=ssl.create_default_context(cafile=self.trusts))
        h = {"Host": host or f"127.0.0.1:{self.port}", **(headers or {})}
        if method == "POST" and headers is None:
            h |= {"X-Fettle": "1", "Content-Type": "application/json"}
        c.request(method, path, json.dumps(body) if isinstance(body, (dict, list)) else body, h)
        r = c.getresponse()
        data = r.read()
        self.headers = r.headers
        c.close()
        try:
            return r.status, json.loads(data)
        except ValueError:
            return r.status, data

    def get(self, path, **more):
        return self.ask("GET", path, **more)

    def post(self, path, body, **more):
        return self.ask("POST", path, body, **more)

    def stop(self):
        self.process.terminate()
        self.process.wait(10)


def form(fields):
    """(type, body) of a multipart form; a field is a text or (file name, bytes)."""
    edge = "edge-of-this-test"
    out = b""
    for name, value in fields.items():
        file, data = value if isinstance(value, tuple) else (None, value.encode())
        out += f'--{edge}\r\nContent-Disposition: form-data; name="{name}"'.encode()
        out += f'; filename="{file}"'.encode() if file else b""
        out += b"\r\n\r\n" + data + b"\r\n"
    return f"multipart/form-data; boundary={edge}", out + f"--{edge}--\r\n".encode()


def raw(port, data, wait=5):
    """What comes back for these bytes, however odd."""
    s = socket.create_connection(("127.0.0.1", port), timeout=wait)
    out = b""
    try:
        s.sendall(data)
        while part := s.recv(65536):
            out += part
    except OSError:
        pass
    s.close()
    return out


folder = pathlib.Path(tempfile.mkdtemp(prefix="fettle-serve-"))
served = folder / "plans"
shutil.copytree(root / "plans" / "demo", served, ignore=shutil.ignore_patterns("models", "results"))
subprocess.run([program, "demo-models", str(served / "models")], check=True, stdout=subprocess.DEVNULL)
(folder / "outside.toml").write_text((served / "plan-1.toml").read_text())
(served / "linked.toml").symlink_to(folder / "outside.toml")
plan = "plan-1.toml"
server = Server(served)


def everyday():
    status, about = server.get("/api/about")
    check("about says what it is", status == 200 and about["name"] == "Fettle" and about["may"] == "write" and not about["lan"], about)
    check("the policy lets no script in but the page's own", server.headers["Content-Security-Policy"] ==
          "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; object-src 'none'", server.headers)
    check("types are not guessed", server.headers["X-Content-Type-Options"] == "nosniff", server.headers)
    status, page = server.get("/")
    inside = about["page"]
    check("the page, or that there is none", status == 200 and (b"<script" in page) == inside and (b"not inside this build" in page) != inside, page)
    status, plans = server.get("/api/plans")
    check("plans are listed", {"plan-0.toml", plan} <= {p["path"] for p in plans["plans"]}, plans)
    check("the shop file is told apart", {"path": "shop.toml", "kind": "shop"} in plans["files"], plans)
    check("a link that leads out is not listed", "linked.toml" not in {p["path"] for p in plans["plans"]}, plans)
    status, p = server.get(f"/api/plan?path={plan}")
    check("a plan comes with its text", status == 200 and p["text"] == (served / plan).read_text() and p["values"], p)
    status, s = server.get(f"/api/study?path={plan}")
    check("a study comes at once", status == 200 and s["done"] and s["hash"] == p["hash"] and len(s["findings"]) > 50, s)
    out = json.loads(subprocess.run([program, "study", plan, "--json", "--quick"], cwd=served, capture_output=True, text=True).stdout)
    check("it is the study of the command line", out["findings"] == s["findings"] and out["counts"] == s["counts"])
    floor = server.get(f"/api/floor?path={plan}")[1]
    check("one id of the plan on the desk, at the machine and on the command line", s["plan"]["hash"] == floor["plan_hash"] == out["plan"]["hash"], (s["plan"], floor))
    name = s["findings"][0]["id"]
    status, e = server.get(f"/api/explain?path={plan}&finding={name}")
    check("a finding is explained", status == 200 and e["finding"]["id"] == name and len(e["text"]) > 100, e)
    tool = next(r for r in server.get("/api/reckoners")[1]["reckoners"] if r["name"] == "pin_goes_on")
    given = tool["examples"][0]["given"]
    over = next(i["name"] for i in tool["inputs"] if i["form"] == "quantity" and i["name"] in given)
    low, high = (re.sub(r"^[-\d.]+", lambda m: f"{float(m.group(0)) * k:g}", given[over]) for k in (0.9, 1.1))
    status, p2 = server.post("/api/plot", {"name": tool["name"], "inputs": given, "over": over, "from": low, "to": high, "points": 5})
    check("a plot has a place in words for every point", status == 200 and len(p2["x"]) == len(p2["texts"]) == 5 and all(len(y) == 5 for y in p2["y"].values()), p2)
    status, one = server.post("/api/reckon", {"name": tool["name"], "inputs": given | {over: low}})
    first = {k: v["si"] for k, v in one["outputs"].items() if "si" in v} if status == 200 else {}
    check("its first point is what the reckoner says there", first and all(p2["y"][k][0] == v for k, v in first.items()), (one, p2))
    status, r = server.post("/api/reckon", {"name": "hoisting", "inputs": {}})
    check("no such reckoner", status == 404, r)
    return p["hash"]


def changing(first):
    lever = {"key": "pallet.screw.1.torque", "value": "22 N·m"}
    text = (served / plan).read_text()
    status, t = server.post("/api/try", {"path": plan, "hash": first, "changes": [lever]})
    check("a try tells what moves", status == 200 and t["moved"] and t["diff"] and t["after"] != first, t)
    check("a try writes nothing", (served / plan).read_text() == text)
    status, a = server.post("/api/accept", {"path": plan, "hash": first, "changes": [lever], "who": "test"})
    check("accepted", status == 200 and a["hash"] == t.get("after") and a["undo"] == 1, a)
    now = (served / plan).read_text()
    check("only that value is another", now == text.replace('torque = "28 N·m"', 'torque = "22 N·m"', 1), now[:200])
    status, c = server.post("/api/accept", {"path": plan, "hash": first, "changes": [lever | {"value": "25 N·m"}], "who": "other"})
    check("two on one key: a conflict", status == 409 and c.get("overlap"), c)
    check("both texts are kept", (served / plan).read_text() == now and '"25 N·m"' in (served / c["kept"]).read_text(), c)
    status, m = server.post("/api/accept", {"path": plan, "hash": first, "changes": [{"key": "pallet.empty_mass", "value": "6.2 kg"}], "who": "other"})
    check("two on different keys: merged", status == 200 and m["merged"], m)
    both = (served / plan).read_text()
    check("both changes stand", both == now.replace('empty_mass = "6.15 kg"', 'empty_mass = "6.2 kg"'))
    status, u = server.post("/api/undo", {"path": plan, "hash": m["hash"]})
    check("undone", status == 200 and u["redo"] == 1 and (served / plan).read_text() == now, u)
    status, u = server.post("/api/redo", {"path": plan, "hash": u["hash"]})
    check("and done again", status == 200 and (served / plan).read_text() == both, u)
    for _ in range(2):
        status, u = server.post("/api/undo", {"path": plan, "hash": u["hash"]})
    check("undo brings the very bytes back", (served / plan).read_text() == text, u)
    status, r = server.post("/api/undo", {"path": plan, "hash": a["hash"]})
    check("an undo of another text is a conflict", status == 409, r)
    (served / plan).write_text(text + "# from disk\n")
    status, w = server.get(f"/api/changes?path={plan}&after={first}")
    check("a change on disk is seen", status == 200 and w["changed"] and w["by"] == "disk", w)
    (served / plan).write_text(text)


def in_space():
    status, s = server.get(f"/api/scene?path={plan}")
    check("a scene comes, in metres", status == 200 and s["units"] == "m" and s["plate"]["size"] == [0.33, 0.25, 0.025] and not s["notes"], str(s)[:600])
    check("four nests, pins where F7 is, screws on the part's top", [n["at"] for n in s["nests"]] == [[-0.078, -0.057, 0], [0.078, -0.057, 0], [-0.078, 0.057, 0], [0.078, 0.057, 0]] and
          sorted(p["at"][:2] for p in s["pins"]) == [[-0.044, -0.034], [0.044, 0.034]] and all(x["at"][2] == 0.036 for x in s["screws"]), s["pins"])
    t = s["part"]["triangles"]
    points = [t["points"][i:i + 3] for i in range(0, len(t["points"]), 3)]
    faces = [t["faces"][i:i + 3] for i in range(0, len(t["faces"]), 3)]
    check("every triangle of the part has a feature of the plan", s["part"]["drawn"] == "model" and len(t["feature"]) == len(faces) and
          {t["names"][f] for f in t["feature"] if f >= 0} == {"A", "F1", "F2", "F3", "F4", "F5", "F6", "F7", "F8", "F9", "F10", "F11"} and min(t["feature"]) >= 0, t["names"])
    wall = {round((points[i][0] ** 2 + points[i][1] ** 2) ** 0.5 * 1e3, 2) for f, c in zip(t["feature"], faces) if t["names"][f] == "F4" for i in c}
    check("the spool bore's triangles stand at its radius", wall and min(wall) > 10.9 and max(wall) < 11.6, wall)
    volume = sum(a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
                 for a, b, c in ([points[i] for i in face] for face in faces)) / 6
    check("they enclose the part's mass over its density", abs(volume * 7200 - 2.595) < 0.02, volume * 7200)
    stock = s["casting"]["stock"]
    p = s["casting"]["triangles"]["points"]
    top = [x for x, z in zip(stock, p[2::3]) if z > 0.0375]
    check("metal on the top is what the plan says", len(stock) * 3 == len(p) and 0.0018 < sorted(top)[len(top) // 2] < 0.0023, sorted(top))
    status, o = server.get(f"/api/scene?path={plan}&operation=OP20")
    check("bottom up: the part lies turned, no plate, its rests on the top face below", status == 200 and o["plate"] is None and len(o["nests"]) == 1 and
          all(c["at"][2] == 0 and c["normal"] == [0, 0, -1] for c in o["contacts"] if c["on"] == "F11") and min(o["part"]["triangles"]["points"][2::3]) == 0, o["contacts"])
    check("no such operation", server.get(f"/api/scene?path={plan}&operation=OP99")[0] == 404)
    (served / "bare.toml").write_text(re.sub(r"model = .*\n", "", (served / plan).read_text()))
    status, b = server.get("/api/scene?path=bare.toml")
    (served / "bare.toml").unlink()
    check("without a model an outline, and no casting made up", status == 200 and b["part"]["drawn"] == "outline" and b["casting"] is None and
          b["raw"]["size"] == [0.13625, 0.0971, 0.0399] and "F8" in b["part"]["triangles"]["names"], str(b)[:500])


def questions():
    """What is asked at a machine finds its answer among the first three (the questions are the trade's own)."""
    for words, wanted in {
        "How tight: which torque?": "screw_torque", "This casting measures 95.7 wide, run it?": "run_casting", "Nest 2 shows a step of 0.04": "op30.pallet.chip_under",
        "Bore reads 22.0012 warm: what is it at 20 C?": "at_20", "How much to hone off?": "hone_off", "Bore trend: when do I next touch it?": "tool_reset",
        "One nest is bad, skip how?": "floor", "It squeals on corner nests only: rpm?": "chatter_speeds", "No 16 mm end mill left, 12 mm ok?": "reach", "Tap broke: torque margin?": "tap_torque",
        "Part will not come off": "lift_off", "Part will not go on in the morning": "pin_goes_on", "Can I lift this alone?": "lift", "Coolant pooled in the bore": "puddle",
        "How many parts left in this edge?": "parts_per_edge", "Shoulder screw from the other box, 40 long: ok?": "shoulder", "New lot, HB 245: what changes?": "change_voids",
        "Swap pallet A2 onto base 1": "pallet_swap", "Air gauge ring is 24 C: correct by?": "at_20", "Last 5 parts all low: adjust or leave?": "run_of_readings",
        "Plate is 22 mm not 25: still ok?": "thinner_plate", "run the night pallets unattended?": "unattended", "Print me the sheet": "papers", "Who changed what since yesterday?": "changed",
    }.items():
        hits = server.get("/api/ask?path=plan-1.toml&words=" + urllib.parse.quote(words))[1]["hits"]
        first = [h.get("name") or h.get("id") for h in hits[:3]]
        check(f"{words} finds {wanted}", wanted in first, first)
    check("a question without a plan finds reckoners alone", all(h["kind"] == "reckoner" for h in server.get("/api/ask?words=lift")[1]["hits"]))
    check("a word of no shop finds nothing", server.get("/api/ask?words=zzzzqqq")[1]["hits"] == [])


def at_the_machine():
    status, f = server.get(f"/api/floor?path={plan}")
    ops = {o["id"]: o for o in f["operations"]}
    on = next(o for o in ops.values() if len(o["nests"]) == 4 and o["nests"][0]["at"])
    check("the torque of the plan stands at the machine", any(d["tab"] == "torque" and d["value"] == "28 N·m" and d["caution"] for d in on["do"]), on)
    size = next(m for m in on["measure"] if m["id"] == "F2.size")
    check("a fit is said in digits and ends in its unit", size["limit"] == "50.000 mm to 50.039 mm" and abs(size["upper"] - 0.050039) < 1e-9, size)
    t = on["tighten"][0]
    check("screws in their order, with a torque for each round", t["order"] == [1, 2] and t["rounds"] == ["14 N·m", "28 N·m", "28 N·m"] and [x["n"] for x in t["places"]] == [1, 2], t)
    inch = {o["id"]: o for o in server.get(f"/api/floor?path={plan}&units=inch")[1]["operations"]}[on["id"]]["tighten"][0]["rounds"]
    check("every round in one unit", inch == ["10.33 lbf·ft", "20.65 lbf·ft", "20.65 lbf·ft"], inch)
    check("pallets and sets as the plan has them", on["on_table"] == 2 and on["sets"] == 2, on)
    hash, text = f["hash"], (served / plan).read_text()
    aimed = text.replace('tool = "T20"\nfeatures = "F4"', 'tool = "T20"\naim = "22.0060 mm"\nfeatures = "F4"').replace('torque = "28 N·m"', 'torque = "20 N·m"  # "wrench 3" reads high')
    (served / plan).write_text(aimed)
    changed = {c["key"]: c for c in server.get(f"/api/floor?path={plan}&since={hash}")[1]["changed"]}
    screw = next(k for k in changed if k.endswith("torque"))
    check("what changed since, with the file's own remark", len(changed) == 2 and changed[screw]["from"] == "28 N·m" and changed[screw]["to"] == "20 N·m" and
          changed[screw]["why"] == '"wrench 3" reads high', changed)
    status, a = server.get(f"/api/floor/advice?path={plan}&since={hash}")
    check("why: findings that hang on that value, with both their numbers", a["why"][screw] and all(r["was"] != r["is"] and r["operation"] == on["id"] for r in a["why"][screw]), a["why"])
    check("nothing that a torque moves is laid to an aim", not any("holds" in r["id"] for k, v in a["why"].items() if k.endswith("aim") for r in v), a["why"])
    check("the hone list of the last bores", [(x["part"], x["what"]) for x in a["hone"][0]["list"]] == [("4", "take 3.5 µm"), ("11", "take 4.0 µm")] and a["hone"][0]["to"] == "22.0045 mm", a["hone"])
    check("an offset says its direction and its tool", a["offsets"][0]["tool"] == "T20" and a["offsets"][0]["move"].startswith("bore gets BIGGER by"), a["offsets"])
    (served / plan).write_text(text)
    one = {"id": "e-1", "path": plan, "operation": on["id"], "nest": "2", "what": "F2.size", "value": "50.021 mm", "who": 'A "B"', "at": "2026-01-01T00:00:00Z"}
    first, second = server.post("/api/entry", one), server.post("/api/entry", one)
    check("an entry sent twice is kept once", first[1] == {"kept": True, "twice": False} and second[1] == {"kept": True, "twice": True}, second)
    check("it stands beside the plan", (served / "plan-1.entries.csv").read_text().count("\n") == 2)
    entries = server.get(f"/api/floor?path={plan}")[1]["entries"]
    check("it comes back as it was sent", len(entries) == 1 and entries[0]["who"] == 'A "B"' and entries[0]["value"] == "50.021 mm", entries)
    status, r = server.post("/api/entry", one | {"id": "e-2", "value": "=1+1"})
    check("no formulas for a table program", status == 400, r)


def on_paper():
    """The paper says what the whole study says, or on its first line that virtual castings are not counted yet."""
    def paper():
        status, pdf = server.get("/api/sheet.pdf?path=plan-0.toml")
        (folder / "sheet.pdf").write_bytes(pdf)
        text = subprocess.run(["pdftotext", str(folder / "sheet.pdf"), "-"], capture_output=True, text=True).stdout
        return status, " ".join(text.split())
    not_yet = "Virtual castings are not counted yet."
    quick = server.get("/api/study?path=plan-0.toml")[1]
    early = paper()  # waits for the whole study, but not for ever
    job = server.get("/api/study?path=plan-0.toml&whole=1")[1]["job"]
    at = {"done": False, "step": -1}
    while not at["done"]:
        at = server.get(f"/api/study/next?job={job}&after={at['step']}")[1]
    whole = at["study"]
    check("the whole study counts what the quick one leaves open", whole["counts"] != quick["counts"], (whole["counts"], quick["counts"]))
    check("a paper before it is done says so, or is whole", (not_yet + " " + quick["verdict"] in early[1]) != (whole["verdict"] in early[1] and not_yet not in early[1]), early[1][:400])
    status, text = paper()
    check("the paper is the whole study", status == 200 and whole["verdict"] in text and not_yet not in text and "left out of this run" not in text, text[:400])
    check("the paper carries the plan's one id", "plan " + whole["plan"]["hash"] in text, text[:400])


def hostile():
    port = server.port
    check("another host is refused", server.get("/api/plans", host="evil.example")[0] == 403)
    check("a name that resolves here is refused", server.get("/api/plans", host=f"evil.example:{port}")[0] == 403)
    h = {"X-Fettle": "1", "Content-Type": "application/json"}
    check("another origin is refused", server.post("/api/try", {}, headers=h | {"Origin": "http://evil.example"})[0] == 403)
    check("the page's own origin may", server.post("/api/try", {}, headers=h | {"Origin": f"http://127.0.0.1:{port}"})[0] == 404)
    check("a post without the mark is refused", server.post("/api/try", {}, headers={"Content-Type": "application/json"})[0] == 403)
    check("a form is no JSON", server.post("/api/try", "a=b", headers={"X-Fettle": "1", "Content-Type": "text/plain"})[0] == 415)
    for path in ("../outside.toml", "/etc/passwd", "%2e%2e/outside.toml", "..%2foutside.toml", "linked.toml", "a/../../outside.toml", "plan-1.toml%00", ".hidden.toml"):
        status, r = server.get(f"/api/plan?path={path}")
        check(f"{path} stays outside", status == 404 and "text" not in r, r)
    check("no file of the machine is a page", server.get("/../../etc/passwd")[0] == 404)
    check("a body that is too long", server.post("/api/try", b" " * (1 << 20) + b"  ")[0] == 413)
    check("a body that only says it is long", raw(port, f"POST /api/try HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Fettle: 1\r\nContent-Type: application/json\r\nContent-Length: 99999999999\r\n\r\n".encode()).startswith(b"HTTP/1.1 413"))
    check("a body without length", raw(port, f"POST /api/try HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nX-Fettle: 1\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n5\r\n".encode()).startswith(b"HTTP/1.1 411"))
    raw(port, b"GET /" + b"a" * 100000 + b" HTTP/1.1\r\n\r\n")
    raw(port, f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nRange: bytes=".encode() + b"0-1," * 1900 + b"0-1\r\n\r\n", 2)
    raw(port, b"\x00\xff\r\n\r\n", 2)
    raw(port, b"GET / HTTP/1.1\r\n" + b"A: b\r\n" * 20000, 2)
    check("a form that is none", server.post("/api/begin", b"--x\r\n", headers={"X-Fettle": "1", "Content-Type": "multipart/form-data; boundary=x"})[0] == 400)
    check("deep JSON", server.post("/api/try", b"[" * 100000, headers=h)[0] == 400)
    check("it still serves", server.get("/api/about")[0] == 200)


def slow():
    """Clients that send a byte a second, and more clients than lines, stop nobody for long."""
    drips = [socket.create_connection(("127.0.0.1", server.port)) for _ in range(60)]
    over = threading.Event()

    def drip():
        text = f"GET /api/about HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nX-Slow: ".encode() + b"a" * 1000
        for byte in text:
            for s in drips:
                try:
                    s.send(bytes([byte]))
                except OSError:
                    pass
            if over.wait(1):
                return

    start = time.monotonic()
    thread = threading.Thread(target=drip)
    thread.start()
    longest = 0
    while time.monotonic() - start < 3:
        t = time.monotonic()
        status, _ = server.get("/api/plans")
        longest = max(longest, time.monotonic() - t)
        check("others are served beside slow ones", status == 200)
    check("and at once", longest < 1.0, longest)
    more = [socket.create_connection(("127.0.0.1", server.port)) for _ in range(140)]
    time.sleep(0.3)
    check("beyond the limit it says 503", any_503(more))
    ended = 0
    drips[0].settimeout(12)
    try:
        while drips[0].recv(1000):
            pass
        ended = time.monotonic() - start
    except ConnectionError:
        ended = time.monotonic() - start
    except OSError:
        pass
    check("a slow one is cut off within a dozen seconds", 0 < ended < 13, ended)
    over.set()
    thread.join()
    for s in drips + more:
        s.close()
    time.sleep(0.5)
    check("then everything is as before", server.get("/api/about")[0] == 200)


def any_503(sockets):
    for s in reversed(sockets):
        s.settimeout(0.2)
        try:
            if s.recv(100).startswith(b"HTTP/1.1 503"):
                return True
        except OSError:
            pass
    return False


def dropped():
    step = (served / "models" / "wvb3.step").read_bytes()
    mark = {"X-Fettle": "1"}
    kind, body = form({"part": ("../../WVB 3.step", step), "shop": "shop.toml", "into": "first"})
    status, b = server.post("/api/begin", body, headers=mark | {"Content-Type": kind})
    check("a dropped model asks its questions", status == 200 and b["into"] == "first" and len(b["questions"]) > 3, b)
    check("it is kept within the folder", (served / "first" / "WVB-3.step").read_bytes() == step)
    picks = {q["id"]: q["pick"] for q in b["questions"]}
    check("questions that ask for features say so", picks["pin_holes"] == "hole" and picks["cast_faces"] == "face" and picks["per_week"] == "", picks)
    holes = [f for f in b["features"] if f["hole"]]
    check("what can be picked comes with kind, size and place", holes and all(f["kind"] and f["size"].endswith("mm") and len(f["at"]) == f["places"] > 0 for f in holes), holes)
    faces = {f["id"]: f for f in b["features"] if f["face"]}
    check("faces and sides are told from floors of holes", {"top", "bottom", "outside"} <= set(faces) and not any("floor" in f for f in faces), faces)
    above = next(v for v in b["views"] if v["up"] == "+z")
    check("a drawing from above has them at their places", {m["feature"] for m in above["marks"]} >= {f["id"] for f in holes if f["from"] == "+z"} and "top" in {f["feature"] for f in above["faces"]}, above["marks"][:3])
    wide = above["box"][2] - above["box"][0], above["box"][3] - above["box"][1]
    check("to scale", abs(wide[0] - 0.132) < 1e-4 and abs(wide[1] - 0.092) < 1e-4 and b["units"] == "metric", wide)
    check("requirements name their feature", all(r["feature"] and r["kind"] for r in b["requirements"]), b["requirements"][:2])
    status, w = server.post("/api/begin/answers", {"job": b["job"], "answers": {"per_weak": "240"}})
    check("an answer that nobody asked for names the nearest", status == 400 and w["problems"][0]["near"] == "per_week", w)
    kind, body = form({"part": ("x.step", b"no step"), "shop": "shop.toml", "into": "second"})
    status, r = server.post("/api/begin", body, headers=mark | {"Content-Type": kind})
    check("what is no model is refused and not kept", status == 400 and not (served / "second").exists(), r)
    tools = b"id,kind,diameter,teeth,flute length\nT90,end mill,12 mm,4,26 mm\n"
    kind, body = form({"part": ("wvb3.step", step), "shop": "shop.toml", "into": "listed", "tools": ("my tools.csv", tools)})
    status, b2 = server.post("/api/begin", body, headers=mark | {"Content-Type": kind})
    filled = served / "listed" / "shop-filled.toml"
    check("a list of tools fills the shop beside the plan", status == 200 and filled.exists() and "T90" in filled.read_text() and (served / "listed" / "my-tools.csv").exists(), b2)
    kind, body = form({"part": ("wvb3.step", step), "shop": "shop.toml", "into": "third", "tools": ("bad.csv", tools.replace(b"12 mm", b"12"))})
    status, r = server.post("/api/begin", body, headers=mark | {"Content-Type": kind})
    check("a list with a bare number is refused with its line", status == 400 and "bad.csv:2" in r["problems"][0]["where"] and not (served / "third").exists(), r)
    looking()
    return b["job"]


def looking():
    """Lists and a shop file by themselves, before a part is read."""
    def look(**fields):
        kind, body = form(fields)
        return server.post("/api/begin/look", body, headers={"X-Fettle": "1", "Content-Type": kind})
    before = sorted(served.iterdir())
    shop = (root / "plans" / "demo" / "shop.toml").read_bytes()
    status, r = look(shop=("own shop.toml", shop), table=("castings.csv", (served / "castings.csv").read_bytes()))
    check("a shop file says what it holds", status == 200 and r["files"]["shop"]["problems"] == [] and r["files"]["shop"]["words"][0] == "4 machines: A, B, hone, washer", r)
    check("a table of castings too", r["files"]["table"]["words"][0] == "13 castings", r)
    spoilt = shop.replace(b'name = "', b'name = 7 #"', 1)  # nothing else speaks of it
    status, r = look(shop=("own shop.toml", spoilt))
    line = spoilt[:spoilt.index(b"name = 7")].count(b"\n") + 1
    check("a slip in it is said with line and column", status == 200 and len(r["files"]["shop"]["problems"]) == 1 and f"own-shop.toml:{line}:" in r["files"]["shop"]["problems"][0]["where"], r)
    status, r = look(shop="shop.toml", tools=("t.csv", b"id,kind,diameter\nT90,end mill,12 mm\nT90,end mill,13 mm\n"), times=("w.csv", b"operation,time\nOP30,12 s\n"),
                     holders=("h.csv", b"holder,diameter\nlong one,40\n"))
    problems = {f: [p["where"] for p in r["files"][f]["problems"]] for f in r["files"]}
    check("each list has its own slips", status == 200 and problems["tools"] == ["t.csv:3:1"] and problems["times"] == [] and problems["holders"][0].startswith("h.csv:2:"), r)
    status, r = look(shop="shop.toml", tools=("t.csv", b"id,kind,diameter,teeth,flute length\nT90,end mill,12 mm,4,26 mm\n"))
    check("a list of tools says what it adds", "T90" in " ".join(r["files"]["tools"]["words"]), r)
    status, r = look(shop="../outside.toml")
    check("no shop file outside the folder", r["files"]["shop"]["problems"] != [], r)
    check("nothing is kept", sorted(served.iterdir()) == before)


def flat():
    status, top = server.get(f"/api/flat?path={plan}&up=%2Bz&raw=1")
    ids = {m["feature"] for m in top["marks"]}
    check("the part from above, from its model, the casting around it", status == 200 and top["model"] and {"F2", "F4", "F8", "F10"} <= ids and len(top["raw"]) > 3, {k: str(v)[:200] for k, v in top.items()})
    check("holes from below are hidden from above", all(m["hidden"] for m in top["marks"] if m["feature"] == "F9") and not any(m["hidden"] for m in top["marks"] if m["feature"] == "F10"), top["marks"])
    below = server.get(f"/api/flat?path={plan}&up=-z")[1]
    there = {m["feature"]: m["hidden"] for m in below["marks"]}
    check("and seen from below", not there["F9"] and there["F10"] and "A" in {f["feature"] for f in below["faces"]}, there)
    at = lambda view, f: sorted(tuple(m["at"]) for m in view["marks"] if m["feature"] == f)
    check("turned over about X", at(below, "F7") == sorted((x, -y) for x, y in at(top, "F7")), (at(below, "F7"), at(top, "F7")))
    front = server.get(f"/api/flat?path={plan}&up=-y")[1]
    check("from the front it is as high as it is", abs(front["box"][3] - front["box"][1] - 0.036) < 1e-4 and not front["marks"], front["box"])
    check("which way the part lies is said", [v["axes"] for v in (top, below, front)] == [[[1, 0, 0], [0, 1, 0], [0, 0, 1]], [[1, 0, 0], [0, -1, 0], [0, 0, -1]], [[1, 0, 0], [0, 0, 1], [0, -1, 0]]], (top["axes"], below["axes"], front["axes"]))
    check("a direction that is none is refused", server.get(f"/api/flat?path={plan}&up=up")[0] == 400)
    text = (served / plan).read_text()
    (served / "bare.toml").write_text(re.sub(r'^model = .*$', "", text, flags=re.M))
    status, bare = server.get("/api/flat?path=bare.toml&up=%2Bz")
    check("without a model the block of its sizes", status == 200 and not bare["model"] and abs(bare["box"][2] - 0.066) < 1e-6 and bare["faces"][0]["feature"] == "F11" and bare["sides"][0]["feature"] == "F1", bare.get("box"))
    (served / "bare.toml").unlink()


def in_a_network():
    net = Server(served, "--lan")
    try:
        read, write = re.findall(r": (\d{6})$", net.said, re.M)
        check("unpaired: nothing is told", net.get("/api/plans")[0] == 403 and net.get("/api/plans")[1]["pairing"] is True)
        check("about may be asked", net.get("/api/about")[1]["may"] == "nothing")
        status, _ = net.post("/api/pair", {"code": read})
        cookie = net.headers["Set-Cookie"].split(";")[0]
        check("the cookie is out of reach of scripts", "HttpOnly" in net.headers["Set-Cookie"] and "SameSite=Strict" in net.headers["Set-Cookie"])
        h = {"X-Fettle": "1", "Content-Type": "application/json", "Cookie": cookie}
        check("the reading code reads", net.get("/api/plans", headers={"Cookie": cookie})[0] == 200)
        check("and writes nothing", net.post("/api/accept", {}, headers=h)[0] == 403)
        net.post("/api/pair", {"code": write})
        h["Cookie"] = net.headers["Set-Cookie"].split(";")[0]
        check("the other code writes", net.post("/api/accept", {}, headers=h)[0] == 404)
        wrong = next(c for c in ("000000", "000001", "000002") if c not in (read, write))
        tries = [net.post("/api/pair", {"code": wrong})[0] for _ in range(6)]
        check("wrong codes end in waiting", tries == [403] * 5 + [503], tries)
        check("even for the right one", net.post("/api/pair", {"code": write})[0] == 503)
    finally:
        net.stop()


def encrypted():
    """With a certificate of one's own, made as docs/api.md says."""
    pem, key, other = folder / "box.pem", folder / "box-key.pem", folder / "other-key.pem"
    for k, c in ((key, pem), (other, folder / "other.pem")):
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2", "-subj", "/CN=fettle-test",
                        "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-keyout", str(k), "-out", str(c)], check=True, capture_output=True)
    for what, args, words in (("no such file", (folder / "none.pem",), "none.pem"), ("no certificate", (served / plan,), "no certificate in this file"),
                              ("the key is missing", (pem,), "no key of that certificate"), ("another's key", (pem, "--tls-key", other), "no key of that certificate")):
        r = subprocess.run([program, "serve", served, "--port", "0", "--tls", *args], capture_output=True, text=True, timeout=30)
        check(f"--tls, {what}: said, and no server", r.returncode == 2 and words in r.stderr, r)
    safe = Server(served, "--lan", "--tls", pem, "--tls-key", key, trusts=str(pem))
    try:
        check("it prints an address that is encrypted", f"https://127.0.0.1:{safe.port}/" in safe.said and "in the clear" not in safe.said, safe.said)
        status, about = safe.get("/api/about")
        check("a browser that trusts the certificate gets in", status == 200 and about["tls"] is True and about["may"] == "nothing", about)
        origin = {"X-Fettle": "1", "Content-Type": "application/json", "Origin": f"https://127.0.0.1:{safe.port}"}
        code = re.findall(r": (\d{6})$", safe.said, re.M)[1]
        status, _ = safe.post("/api/pair", {"code": code}, headers=origin)
        check("the cookie goes back encrypted only", status == 200 and "; Secure" in safe.headers["Set-Cookie"], status)
        cookie = {"Cookie": safe.headers["Set-Cookie"].split(";")[0]}
        check("a long answer comes whole", len(safe.get("/api/schema", headers=cookie)[1]["tables"]) == 3)
        check("the same page in the clear is another page", safe.post("/api/try", {}, headers=origin | cookie | {"Origin": f"http://127.0.0.1:{safe.port}"})[0] == 403)
        try:
            http.client.HTTPSConnection("127.0.0.1", safe.port, timeout=10, context=ssl.create_default_context()).request("GET", "/api/about")
            check("who does not trust the certificate is not let on", False)
        except ssl.SSLError:
            pass
        check("in the clear nothing is told", b"Fettle" not in raw(safe.port, b"GET /api/about HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"))
        quiet = [socket.create_connection(("127.0.0.1", safe.port)) for _ in range(20)]  # never shake hands
        check("it still serves", safe.get("/api/about")[0] == 200)
        quiet += [socket.create_connection(("127.0.0.1", safe.port)) for _ in range(140)]
        time.sleep(0.3)
        start = time.monotonic()
        status, _ = safe.get("/api/about")
        check("beyond the limit it says 503 encrypted too", status == 503 and safe.headers["Retry-After"] == "2", (status, safe.headers))
        check("at once", time.monotonic() - start < 1.0, time.monotonic() - start)
        slow_ones = [socket.create_connection(("127.0.0.1", safe.port)) for _ in range(16)]  # hold all that say so
        time.sleep(0.3)
        start = time.monotonic()
        try:
            status, _ = safe.get("/api/about", timeout=5)
        except OSError:
            status = "closed"
        check("when those are held too it closes at once", status in (503, "closed") and time.monotonic() - start < 1.0, (status, time.monotonic() - start))
        slow_ones[0].settimeout(5)
        try:
            held = slow_ones[0].recv(10)
        except OSError as e:
            held = e
        check("and lets nobody hold them for long", held == b"" or isinstance(held, ConnectionError), held)
        check("so that the next one hears 503 again", safe.get("/api/about")[0] == 503)
        for q in quiet + slow_ones:
            q.close()
        time.sleep(0.5)
        check("then everything is as before, encrypted", safe.get("/api/about")[0] == 200)
    finally:
        safe.stop()


def stopping(drop):
    status, r = server.post("/api/stop", {"job": "none"})
    check("no such job to stop", status == 404, r)
    at_work = server.get(f"/api/study?path={plan}&whole=1")[1]
    job = at_work["job"]
    status, r = server.post("/api/stop", {"job": job})
    check("a study is asked to stop", status == 200 and r["job"] == job, r)
    at = {"done": False, "step": -1}
    while not at["done"]:
        at = server.get(f"/api/study/next?job={job}&after={at['step']}")[1]
    check("it ends and says so", "study" not in at and at["problems"][0]["what"] == "stopped", str(at)[:300])
    again = server.get(f"/api/study?path={plan}&whole=1")[1]["job"]
    check("the next one is a new one", again not in ("", job))
    server.post("/api/stop", {"job": again})
    tried = {"path": plan, "hash": at_work["hash"], "changes": [{"key": "pallet.screw.1.torque", "value": "23.5 N·m"}]}
    status, rest = server.post("/api/try", tried | {"rest": True})
    check("the rest of a trial is a job", status == 200 and rest["job"] and "findings" not in rest, rest)
    at = server.get(f"/api/study/next?job={rest['job']}&after=-1")[1]
    check("it tells how far it is", at["doing"] and 0 <= at["share"] <= 1, at)
    check("the same trial again is the same job", server.post("/api/try", tried | {"rest": True})[1]["job"] == rest["job"])
    status, t = server.post("/api/leave", {"job": rest["job"]})
    check("one of two who follow it leaves", status == 200 and t["job"] == rest["job"] and not t["done"], t)
    time.sleep(0.3)
    at = server.get(f"/api/study/next?job={rest['job']}&after=-1")[1]
    check("for the other it goes on", "problems" not in at, str(at)[:300])
    status, t = server.post("/api/try", tried | {"leave": rest["job"]})
    check("a trial that is left answers all the same", status == 200 and t["findings"] and "job" not in t)
    while not at["done"]:
        at = server.get(f"/api/study/next?job={rest['job']}&after={at['step']}")[1]
    check("what is left ends", "study" not in at and at["problems"][0]["what"] == "stopped", str(at)[:300])
    whole = server.get(f"/api/study?path={plan}&whole=1")[1]["job"]
    server.post("/api/try", tried | {"leave": whole})
    at = server.get(f"/api/study/next?job={whole}&after=-1")[1]
    check("a study of the plan itself is no trial's to leave", "problems" not in at, str(at)[:300])
    server.post("/api/stop", {"job": whole})
    # what was a trial's is the plan's own once it is accepted, whoever leaves the trial
    rest = server.post("/api/try", tried | {"rest": True})[1]["job"]
    server.post("/api/try", tried | {"rest": True})
    kept = server.post("/api/accept", tried)[1]
    check("the plan's own study goes on with it", server.get(f"/api/study?path={plan}&whole=1")[1]["job"] == rest)
    for _ in range(2):
        server.post("/api/leave", {"job": rest})
    time.sleep(0.3)
    at = server.get(f"/api/study/next?job={rest}&after=-1")[1]
    check("and nobody who leaves the trial ends it", "problems" not in at, str(at)[:300])
    server.post("/api/stop", {"job": rest})
    check("taken back", server.post("/api/undo", {"path": plan, "hash": kept["hash"]})[1]["hash"] == at_work["hash"])
    status, t = server.post("/api/leave", {"job": "none"})
    check("no such job to leave", status == 404, t)
    row = {"torque": "28 N·m", "length": "50 mm", "thread": "M8", "through": "F8", "strength": "12.9"}
    status, t = server.post("/api/try", {"path": plan, "hash": at_work["hash"], "changes": [{"key": "pallet.screw", "add": row}]})
    order = [d["new"].split(" = ")[0] for d in t["diff"] if d["new"] and d["new"].split(" = ")[0] in row and d["old"] != d["new"]][:5]
    check("a new row stands in the schema's order", order == ["thread", "length", "strength", "through", "torque"], (t["diff"], order))
    job = server.post("/api/begin/answers", {"job": drop, "answers": {}})[1]["job"]
    check("a proposal is asked to stop", server.post("/api/stop", {"job": job})[0] == 200)
    at = {"done": False, "step": -1}
    while not at["done"]:
        at = server.get(f"/api/begin/next?job={job}&after={at['step']}")[1]
    check("and stops without a proposal", "proposals" not in at and at["problems"][0]["what"] == "stopped", str(at)[:300])
    check("nothing goes on in the background", not proposing(), proposing())
    # what proposes breaks down in the middle of its work: the server says so and works on
    job = server.post("/api/begin/answers", {"job": drop, "answers": {}})[1]["job"]
    at = {"done": False, "step": -1}
    while not at["done"] and (at["step"] < 0 or at["doing"] in ("waits for its turn", "reads the part")):
        at = server.get(f"/api/begin/next?job={job}&after={at['step']}")[1]
    check("it proposes in a process of its own", not at["done"] and len(proposing()) == 1, (at, proposing()))
    os.kill(proposing()[0], signal.SIGSEGV)
    while not at["done"]:
        at = server.get(f"/api/begin/next?job={job}&after={at['step']}")[1]
    check("a breakdown is said", "proposals" not in at and "broke down" in at["problems"][0]["what"] and "signal 11" in at["problems"][0]["found"], str(at)[:400])
    check("and nobody else notices", server.get(f"/api/study?path={plan}")[0] == 200 and not proposing())


def proposing():
    """Processes of the server that propose."""
    out = []
    for p in pathlib.Path("/proc").glob("[0-9]*"):
        try:
            words = (p / "cmdline").read_bytes().split(b"\0")
            if b"--propose-child" in words and int((p / "stat").read_text().rsplit(")", 1)[1].split()[1]) == server.process.pid:
                out.append(int(p.name))
        except OSError:
            pass
    return out


def only_reading():
    quiet = Server(served / plan, "--read-only")
    try:
        check("the plan to open is named", quiet.get("/api/about")[1]["start"] == plan)
        check("nothing is accepted", quiet.post("/api/accept", {"path": plan})[0] == 403)
        check("no entry either", quiet.post("/api/entry", {"path": plan})[0] == 403)
    finally:
        quiet.stop()


try:
    first = everyday()
    changing(first)
    in_space()
    flat()
    questions()
    at_the_machine()
    on_paper()
    hostile()
    stopping(dropped())
    only_reading()
    in_a_network()
    encrypted()
    slow()
    check("the server lives to the end", server.process.poll() is None)
finally:
    server.stop()
    shutil.rmtree(folder)
print(f"serve: {checks} checks, {len(failures)} failed")
sys.exit(1 if failures else 0)
