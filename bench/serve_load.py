#!/usr/bin/env python3
"""A shift at work: floor clients that wait for changes and send entries, and one desk that pulls a lever meanwhile.

usage: bench/serve_load.py PROGRAM [CLIENTS [SECONDS]]

Every floor client keeps one long-poll for changes open, reads its load sheet every ten seconds and sends an entry every twenty, each on lines of its own.
The desk asks for another torque and another place of a nest, the quickest and the slowest of its levers, by turns. Printed: median, 95th percentile and longest of each lever, of
reading a sheet and of an entry, in ms, and what was refused.
"""
import http.client
import json
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time

root = pathlib.Path(__file__).resolve().parent.parent
plan = "plan-1.toml"
program, clients, seconds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 50, float(sys.argv[3]) if len(sys.argv) > 3 else 60
took = {"torque": [], "nest": [], "sheet": [], "entry": []}
refused = []
over = threading.Event()


class Line:
    def __init__(self, port):
        self.port, self.c = port, None

    def ask(self, method, path, body=None):
        for again in (True, False):
            try:
                if self.c is None:
                    self.c = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
                self.c.request(method, path, json.dumps(body) if body is not None else None, {"X-Fettle": "1", "Content-Type": "application/json"})
                r = self.c.getresponse()
                data = r.read()
                if r.status != 200:
                    refused.append((path, r.status))
                    return {}
                return json.loads(data)
            except (http.client.HTTPException, OSError):  # a quiet line is closed by the server: once more on a new one
                self.c = None
                if not again:
                    refused.append((path, "no answer"))
        return {}


def timed(kind, line, *what):
    start = time.monotonic()
    answer = line.ask(*what)
    took[kind].append(1e3 * (time.monotonic() - start))
    return answer


def waits(port, hash):
    line = Line(port)
    while not over.is_set():
        hash = line.ask("GET", f"/api/changes?path={plan}&after={hash}").get("hash", hash)


def works(port, n):
    line, chance, turn = Line(port), random.Random(n), 0
    over.wait(chance.uniform(0, 10))
    while not over.is_set():
        timed("sheet", line, "GET", f"/api/floor?path={plan}")
        if turn % 2 == 0:
            timed("entry", line, "POST", "/api/entry", {"id": f"load-{n}-{turn}", "path": plan, "operation": "OP30", "nest": "2", "what": "F2.size",
                                                        "value": "50.021 mm", "who": f"client {n}", "at": "2026-01-01T00:00:00Z"})
        turn += 1
        over.wait(10)


def said(kind):
    t = sorted(took[kind])
    if not t:
        return f"{kind:7} none"
    return f"{kind:7} {len(t):5} times  median {t[len(t) // 2]:6.0f}  p95 {t[min(len(t) - 1, int(0.95 * len(t)))]:6.0f}  longest {t[-1]:6.0f} ms"


folder = pathlib.Path(tempfile.mkdtemp(prefix="fettle-load-"))
served = folder / "plans"
shutil.copytree(root / "plans" / "demo", served, ignore=shutil.ignore_patterns("models", "results"))
server = subprocess.Popen([program, "serve", str(served), "--port", "0"], stdout=subprocess.PIPE, text=True)
threads = []
try:
    port = int(re.search(r"127\.0\.0\.1:(\d+)/", server.stdout.readline() + server.stdout.readline()).group(1))
    desk = Line(port)
    hash = desk.ask("GET", f"/api/plan?path={plan}")["hash"]
    desk.ask("GET", f"/api/study?path={plan}")
    for n in range(clients):
        threads += [threading.Thread(target=waits, args=(port, hash), daemon=True), threading.Thread(target=works, args=(port, n), daemon=True)]
    for t in threads:
        t.start()
    end, n = time.monotonic() + seconds, 0
    while time.monotonic() < end:
        n += 1
        torque = {"key": "pallet.screw.1.torque", "value": f"{28 + 0.01 * n:.2f} N·m"}
        nest = {"key": "pallet.nest.1.at", "value": [f"{-78 + 0.02 * n:.2f}, -57 mm", "78, -57 mm", "-78, 57 mm", "78, 57 mm"]}
        kind, change = ("torque", torque) if n % 2 == 0 else ("nest", nest)
        timed(kind, desk, "POST", "/api/try", {"path": plan, "hash": hash, "changes": [change]})
        time.sleep(0.3)
    over.set()
    print(f"{clients} floor clients and one desk, {seconds:.0f} s")
    print("\n".join(said(k) for k in took))
    print(f"refused or lost: {len(refused)} {refused[:5]}")
finally:
    over.set()
    server.terminate()
    server.wait(10)
    shutil.rmtree(folder)
