#!/usr/bin/env python3
"""How soon a lever is answered: POST /api/try for the demo's plan, each value asked once, so that nothing is answered from what is kept.

usage: bench/serve_levers.py PROGRAM [TRIES [LEVER]]

Prints for each lever the median, the 95th percentile and the longest answer in ms as the client sees it, and the processor time that the server took for one.
"""
import http.client
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time

root = pathlib.Path(__file__).resolve().parent.parent
plan = "plan-1.toml"


def step(n):
    """0, 1, 2, 3 ... as 1, -1, 2, -2 ..."""
    return (n // 2 + 1) * (1 if n % 2 == 0 else -1)


def one(key, words):
    return lambda n: [{"key": key, "value": words(step(n))}]


def moved_feature(n):
    features = ["F6", "F10", "F5", "F2", "F3"]
    if n >= len(features):
        return None
    left = [f for f in ["F1", "F2", "F3", "F4", "F5", "F6", "F10"] if f != features[n]]
    return [{"key": "operation.OP30.makes", "value": left},
            {"key": "operation.OP20.makes", "value": ["F4r", "F7", "F8", "F9", "E3", "E4", features[n]]}]


def grade(n):
    names = ["EN-GJL-200", "EN-GJL-300", "EN-GJL-350", "EN-GJL-150"]
    return [{"key": "part.material", "value": names[n]}] if n < len(names) else None


LEVERS = {
    "torque": one("pallet.screw.1.torque", lambda k: f"{28 + 0.05 * k:.2f} N·m"),
    "feed": one("operation.OP30.cut.T12.feed", lambda k: f"{1004 + 2 * k} mm/min"),
    "speed": one("operation.OP30.cut.T12.speed", lambda k: f"{2790 + 4 * k} rpm"),
    "zero": one("operation.OP20.shift", lambda k: f"{1.1 + 0.01 * k:.2f}, 0.2, 0 mm"),
    "grade": grade,
    "nest": one("pallet.nest.1.at", lambda k: [f"{-78 + 0.1 * k:.1f}, -57 mm", "78, -57 mm", "-78, 57 mm", "78, 57 mm"]),
    "pin": one("pallet.pin.round.height", lambda k: f"{3 + 0.02 * k:.2f} mm"),
    "anchor": one("pallet.anchor.1.at", lambda k: [f"{-105 + 0.2 * k:.1f}, -75 mm", "105, -75 mm", "-105, 75 mm", "105, 75 mm"]),
    "edge": one("pallet.plate.size", lambda k: f"{330 + 0.2 * k:.1f} x 250 x 25 mm"),
    "thickness": one("pallet.plate.size", lambda k: f"330 x 250 x {25 + 0.05 * k:.2f} mm"),
    "feature": moved_feature,
}


class Line:
    """One connection that stays open, as a browser's does."""

    def __init__(self, port):
        self.c = http.client.HTTPConnection("127.0.0.1", port, timeout=120)

    def ask(self, method, path, body=None):
        self.c.request(method, path, json.dumps(body) if body is not None else None, {"X-Fettle": "1", "Content-Type": "application/json"})
        r = self.c.getresponse()
        return r.status, json.loads(r.read())


def spent(pid):
    """s of processor time so far, of all threads."""
    f = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(f[11]) + int(f[12])) / os.sysconf("SC_CLK_TCK")


def at_share(sorted_list, share):
    return sorted_list[min(len(sorted_list) - 1, int(share * len(sorted_list)))]


def main():
    program, tries = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 40
    wanted = sys.argv[3:] or list(LEVERS)
    folder = pathlib.Path(tempfile.mkdtemp(prefix="fettle-levers-"))
    served = folder / "plans"
    shutil.copytree(root / "plans" / "demo", served, ignore=shutil.ignore_patterns("models", "results"))
    server = subprocess.Popen([program, "serve", str(served), "--port", "0"], stdout=subprocess.PIPE, text=True)
    try:
        port = int(re.search(r"127\.0\.0\.1:(\d+)/", server.stdout.readline() + server.stdout.readline()).group(1))
        line = Line(port)
        start = time.monotonic()
        _, first = line.ask("GET", f"/api/plan?path={plan}")
        line.ask("GET", f"/api/study?path={plan}")
        print(f"opening and first study {1e3 * (time.monotonic() - start):.0f} ms")
        print("lever        tries  median    p95  longest  processor   moved")
        for name in wanted:
            took, moved, before = [], 0, spent(server.pid)
            for n in range(tries):
                changes = LEVERS[name](n)
                if changes is None:
                    break
                start = time.monotonic()
                status, answer = line.ask("POST", "/api/try", {"path": plan, "hash": first["hash"], "changes": changes})
                took.append(1e3 * (time.monotonic() - start))
                if status != 200:
                    sys.exit(f"{name}: {answer}")
                moved += len(answer["moved"])
            took.sort()
            print(f"{name:12} {len(took):5} {at_share(took, 0.5):7.0f} {at_share(took, 0.95):6.0f} {took[-1]:8.0f} {1e3 * (spent(server.pid) - before) / len(took):10.0f} {moved / len(took):7.1f}", flush=True)
    finally:
        server.terminate()
        server.wait(10)
        shutil.rmtree(folder)


main()
