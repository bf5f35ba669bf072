#!/usr/bin/env python3
"""A second reader of control programs, for the tests alone: written from the public description of RS-274 in NISTIR 6556
(line grammar, expressions, order within a line, cycles, arcs) and the classic M98/M99, GOTO and WHILE forms, with nothing
in common with src/program. It prints where the tool's tip goes.

usage: tests/interpreter.py FILE [--zeros JSON] [--lengths JSON] [--touches JSON] [--skip]

  --zeros    {"1": [x, y, z], ...}   machine coordinates of the origins, mm; 1 is G54, 10 is G54.1 P1
  --lengths  {"5": 120.0, ...}       tool lengths by H, mm
  --touches  [[x, y, z], ...]        where the probing moves touch, in the program's coordinates, in order
  --skip     lines behind / are left out
  --with     a JSON file with these three and "parameters": {"503": 5413}

Prints JSON: {"moves": [{"line", "kind", "end": [x, y, z], "tool", "zero"}], "parameters": {...}}. `end` is the tip in machine
coordinates, mm. Ends with 2 and a line "FILE:line: what" when the program is not one.
"""
import argparse
import json
import math
import sys


class Wrong(Exception):
    def __init__(self, line, what):
        super().__init__(what)
        self.line, self.what = line, what


GROUP = {}
for number, codes in {
    1: "0 1 2 3 31 38.2 73 74 80 81 82 83 84 85 86 87 88 89", 2: "17 18 19", 3: "90 91", 5: "93 94 95", 6: "20 21", 7: "40 41 42",
    8: "43 43.1 49", 10: "98 99", 12: "54 54.1 55 56 57 58 59 59.1 59.2 59.3", 13: "61 61.1 64",
    0: "4 10 28 30 53 52 92 92.1 92.2 92.3",
}.items():
    for code in codes.split():
        GROUP[code] = number
M_GROUP = {}
for number, codes in {4: "0 1 2 30 60", 6: "6", 7: "3 4 5 19", 8: "7 8 9", 9: "48 49", 100: "98 99"}.items():
    for code in codes.split():
        M_GROUP[code] = number


class Reader:
    """The characters of one line, without blanks and in small letters."""

    def __init__(self, text, machine, line):
        self.text, self.at, self.machine, self.line = text, 0, machine, line

    def fail(self, what):
        raise Wrong(self.line, what)

    def peek(self, count=1):
        return self.text[self.at:self.at + count]

    def take(self, word):
        if self.text.startswith(word, self.at):
            self.at += len(word)
            return True
        return False

    def number(self):
        begin = self.at
        if self.peek() in "+-" and self.peek():
            self.at += 1
        digits = 0
        dot = False
        while self.at < len(self.text) and (self.text[self.at].isdigit() or (self.text[self.at] == "." and not dot)):
            if self.text[self.at] == ".":
                dot = True
            else:
                digits += 1
            self.at += 1
        if digits == 0:
            self.fail("a number is missing")
        return float(self.text[begin:self.at])

    def value(self):
        """real value: a number, a parameter, a bracket, or a function"""
        c = self.peek()
        if c == "[":
            return self.bracket()
        if c == "#":
            self.at += 1
            return self.machine.get(self.index(), self)
        if c in "+-" and self.text[self.at + 1:self.at + 2] in tuple("[#abcdefghijklmnopqrstuvwxyz"):
            self.at += 1
            inner = self.value()
            return -inner if c == "-" else inner
        if c.isalpha():
            return self.function()
        return self.number()

    def index(self):
        if self.take("<"):
            stop = self.text.find(">", self.at)
            if stop < 0:
                self.fail("a name has no end")
            name = self.text[self.at:stop]
            self.at = stop + 1
            return name
        return self.whole(self.value(), "parameter")

    def whole(self, x, what):
        if abs(x - round(x)) > 1e-4:
            self.fail(f"{what} must be whole")
        return int(round(x))

    def function(self):
        for name in ("atan", "abs", "acos", "asin", "cos", "exp", "fix", "fup", "ln", "round", "sin", "sqrt", "tan"):
            if self.take(name):
                break
        else:
            self.fail("an unknown function")
        a = self.bracket()
        if name == "atan":
            if not self.take("/"):
                self.fail("atan needs a second bracket")
            return math.degrees(math.atan2(a, self.bracket()))
        try:
            return {
                "abs": abs, "acos": lambda v: math.degrees(math.acos(v)), "asin": lambda v: math.degrees(math.asin(v)),
                "cos": lambda v: math.cos(math.radians(v)), "exp": math.exp, "fix": math.floor, "fup": math.ceil, "ln": math.log,
                "round": lambda v: math.floor(v + 0.5) if v >= 0 else -math.floor(-v + 0.5),
                "sin": lambda v: math.sin(math.radians(v)), "sqrt": math.sqrt, "tan": lambda v: math.tan(math.radians(v)),
            }[name](a)
        except (ValueError, OverflowError):
            self.fail(f"{name} of {a}")

    LEVELS = [["or", "xor", "and", "eq", "ne", "gt", "ge", "lt", "le"], ["+", "-"], ["*", "/", "mod"], ["**"]]

    def operator(self):
        for sign in ("**", "mod", "and", "xor", "or", "eq", "ne", "gt", "ge", "lt", "le", "*", "/", "+", "-"):
            if self.take(sign):
                return sign
        return None

    RANK = {"**": 4, "*": 3, "/": 3, "mod": 3, "+": 2, "-": 2, "and": 2, "or": 2, "xor": 2,
            "eq": 1, "ne": 1, "gt": 1, "ge": 1, "lt": 1, "le": 1}

    def bracket(self):
        """[a op b …], by two stacks"""
        if not self.take("["):
            self.fail("a bracket is missing")
        values, signs = [self.value()], []
        while True:
            if self.take("]"):
                rank = 0
            else:
                sign = self.operator()
                if sign is None:
                    self.fail("an operator or ] is missing")
                rank = self.RANK[sign]
            while signs and self.RANK[signs[-1]] >= max(rank, 1):
                b, a = values.pop(), values.pop()
                values.append(self.combine(signs.pop(), a, b))
            if rank == 0:
                return values[0]
            signs.append(sign)
            values.append(self.value())

    def combine(self, sign, a, b):
        try:
            if sign == "**":
                r = a ** b
                if isinstance(r, complex):
                    self.fail("a root of a negative number")
                return r
            if sign == "/":
                return a / b
            if sign == "mod":
                return a - b * math.floor(a / b)
        except (ZeroDivisionError, OverflowError):
            self.fail("division by nothing")
        return {
            "*": lambda: a * b, "+": lambda: a + b, "-": lambda: a - b, "and": lambda: float(a != 0 and b != 0),
            "or": lambda: float(a != 0 or b != 0), "xor": lambda: float((a != 0) != (b != 0)), "eq": lambda: float(abs(a - b) < 1e-6),
            "ne": lambda: float(abs(a - b) >= 1e-6), "gt": lambda: float(a > b), "ge": lambda: float(a >= b), "lt": lambda: float(a < b),
            "le": lambda: float(a <= b),
        }[sign]()


def stripped(text, line):
    """(text without comments and blanks in small letters, comments, behind a slash)"""
    out, remarks, inside = [], [], None
    for c in text:
        if inside is not None:
            if c == "(":
                raise Wrong(line, "a comment inside a comment")
            if c == ")":
                remarks.append("".join(inside))
                inside = None
            else:
                inside.append(c)
        elif c == "(":
            inside = []
        elif c == ";":
            break
        elif c not in " \t\r":
            out.append(c.lower())
    if inside is not None:
        raise Wrong(line, "a comment without end")
    text = "".join(out)
    slash = text.startswith("/")
    return text[1:] if slash else text, remarks, slash


class Machine:
    def __init__(self, zeros, lengths, touches, skip):
        self.origin = {z: [0.0, 0.0, 0.0] for z in range(1, 80)}
        self.origin.update({int(k): list(map(float, v)) for k, v in zeros.items()})
        self.lengths = {int(k): float(v) for k, v in lengths.items()}
        self.touches, self.skip = list(touches), skip
        self.nose = [0.0, 0.0, 0.0]  # machine coordinates, mm
        self.length = 0.0
        self.shift, self.shift_kept, self.local = [0.0] * 3, [0.0] * 3, [0.0] * 3
        self.modal = {1: "80", 2: "17", 3: "90", 5: "94", 6: "21", 7: "40", 8: "49", 10: "98", 12: "54", 13: "64"}
        self.zero = 1
        self.feed = self.speed = 0.0
        self.turning = 0
        self.tool = self.pocket = 0
        self.parameters, self.names, self.frames = {}, {}, []
        self.sticky = {}
        self.moves = []
        self.over = False

    # --- parameters
    def get(self, index, reader):
        if isinstance(index, str):
            if index not in self.names:
                reader.fail(f"#<{index}> was never set")
            return self.names[index]
        if not 1 <= index <= 5399:
            reader.fail("there is no such parameter")
        if 1 <= index <= 30 and self.frames:
            return self.frames[-1].get(index, 0.0)
        if 5221 <= index <= 5389 and (index - 5221) % 20 < 3 and (index - 5221) // 20 < 9:
            return self.out(self.origin[1 + (index - 5221) // 20][(index - 5221) % 20])
        if 5211 <= index <= 5213:
            return self.out(self.shift_kept[index - 5211])
        return self.parameters.get(index, 0.0)

    def put(self, index, value):
        if isinstance(index, str):
            self.names[index] = value
        elif 1 <= index <= 30 and self.frames:
            self.frames[-1][index] = value
        elif 5221 <= index <= 5389 and (index - 5221) % 20 < 3:
            self.origin[1 + (index - 5221) // 20][(index - 5221) % 20] = self.into(value)
        else:
            self.parameters[index] = value

    # --- units and places
    def scale(self):
        return 25.4 if self.modal[6] == "20" else 1.0

    def into(self, x):
        return x * self.scale()

    def out(self, x):
        return x / self.scale()

    def frame(self):
        return [self.origin[self.zero][i] + self.shift[i] + self.local[i] for i in range(3)]

    def tip(self):
        """where the tip stands, in the program's coordinates, mm"""
        f = self.frame()
        return [self.nose[0] - f[0], self.nose[1] - f[1], self.nose[2] - self.length - f[2]]

    def go(self, kind, to, line):
        f = self.frame()
        self.nose = [to[0] + f[0], to[1] + f[1], to[2] + f[2] + self.length]
        self.note(kind, line)

    def note(self, kind, line):
        tip = [self.nose[0], self.nose[1], self.nose[2] - self.length]
        self.moves.append({"line": line, "kind": kind, "end": tip, "tool": self.tool, "zero": self.zero})

    # --- one line of words
    def words(self, reader):
        """words of a block: {letter: value}, [G], [M], settings"""
        letters, gs, ms, settings = {}, [], [], []
        while reader.at < len(reader.text):
            c = reader.peek()
            if c == "#":
                reader.at += 1
                index = reader.index()
                if not reader.take("="):
                    reader.fail("= is missing")
                if isinstance(index, int) and not 1 <= index <= 5399:
                    reader.fail("there is no such parameter")
                settings.append((index, reader.value()))
                continue
            if c not in "abcdfghijklmnpqrstxyz":
                reader.fail(f"what is {c!r}")
            reader.at += 1
            value = reader.value()
            if c == "g":
                tenths = reader.whole(value * 10, "G")
                code = str(tenths // 10) if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10}"
                if code not in GROUP:
                    reader.fail(f"no G{code}")
                # G80 may stand beside G0 to G3: the cycle ends, the motion holds (classic; the report refuses it).
                if any(GROUP[g] == GROUP[code] and not ("80" in (g, code) and {g, code} & {"0", "1", "2", "3"} and g != code)
                       for g in gs):
                    reader.fail("two G of one group")
                gs.append(code)
            elif c == "m":
                code = str(reader.whole(value, "M"))
                if code not in M_GROUP:
                    reader.fail(f"no M{code}")
                if any(M_GROUP[m] == M_GROUP[code] and {m, code} != {"7", "8"} for m in ms):
                    reader.fail("two M of one group")
                ms.append(code)
                if len(ms) > 4:
                    reader.fail("more than four M")
            else:
                if c in letters:
                    reader.fail(f"{c.upper()} twice")
                letters[c] = value
        return letters, gs, ms, settings

    def block(self, reader):
        """Runs one line. Returns None or what the flow does next: ("call", number, times), ("return",), ("end",)."""
        letters, gs, ms, settings = self.words(reader)
        letters.pop("n", None)
        for index, value in settings:
            self.put(index, value)
        line, fail = reader.line, reader.fail
        by_group = {GROUP[g]: g for g in sorted(gs, key=lambda g: g != "80")}
        zero_code = by_group.get(0)
        motion = by_group.get(1)
        axis_words = [a for a in "xyz" if a in letters]
        if motion and motion != "80" and zero_code in ("10", "28", "30", "92", "52") and axis_words:
            fail("two codes want the axes of this line")
        if 5 in by_group:
            self.modal[5] = by_group[5]
        if "f" in letters:
            self.feed = letters["f"]
        if "s" in letters:
            if letters["s"] < 0:
                fail("a speed below nothing")
            self.speed = letters["s"]
        if "t" in letters:
            self.pocket = reader.whole(letters["t"], "T")
        if "6" in ms:
            self.tool = self.pocket
            self.turning = 0
            self.note("tool", line)
        for m in ms:
            if m in ("3", "4", "5", "19"):
                self.turning = {"3": 1, "4": -1}.get(m, 0)
        if zero_code == "4":
            if "p" not in letters and "x" not in letters:
                fail("G4 without a time")
        for group in (2, 6, 7):
            if group in by_group:
                self.modal[group] = by_group[group]
        if 8 in by_group:
            code = by_group[8]
            self.modal[8] = code
            if code == "49":
                self.length = 0.0
            elif code == "43.1":
                self.length = self.into(letters["z"])
                axis_words = []
            else:
                h = reader.whole(letters["h"], "H") if "h" in letters else self.tool
                if h != 0 and h not in self.lengths:
                    fail(f"no length for H{h}")
                self.length = self.lengths.get(h, 0.0)
        if 12 in by_group:
            code = by_group[12]
            self.modal[12] = code
            if code == "54.1":
                if "p" not in letters:
                    fail("G54.1 without P")
                self.zero = 9 + reader.whole(letters["p"], "P")
            else:
                self.zero = {"54": 1, "55": 2, "56": 3, "57": 4, "58": 5, "59": 6, "59.1": 7, "59.2": 8, "59.3": 9}[code]
        for group in (13, 3, 10):
            if group in by_group:
                self.modal[group] = by_group[group]
        if zero_code in ("10", "28", "30", "52", "92", "92.1", "92.2", "92.3"):
            self.settle(zero_code, letters, reader)
            axis_words = []
        if motion is not None:
            if not motion.startswith(("7", "8")) or motion == "80":
                self.sticky = {}
            self.modal[1] = motion
        if axis_words or (motion in ("2", "3") and ("i" in letters or "j" in letters or "k" in letters or "r" in letters)):
            self.motion(self.modal[1], letters, reader, zero_code == "53")
        elif motion not in (None, "80", "0", "1", "2", "3") or (motion in ("2", "3")):
            if not (motion in ("0", "1")):
                fail("a motion without a place")
        for m in ms:
            if m in ("2", "30"):
                self.finish()
                return ("end",)
            if m == "98":
                if "p" not in letters:
                    fail("M98 without P")
                return ("call", reader.whole(letters["p"], "P"), reader.whole(letters.get("l", 1), "L"))
            if m == "99":
                return ("return",)
        return None

    def finish(self):
        self.shift = [0.0] * 3
        self.zero = 1
        self.modal.update({2: "17", 3: "90", 5: "94", 7: "40", 1: "1", 12: "54"})
        self.turning = 0
        self.over = True

    def settle(self, code, letters, reader):
        here = self.tip()
        given = {i: self.into(letters[a]) for i, a in enumerate("xyz") if a in letters}
        if code == "10":
            l = reader.whole(letters.get("l", 0), "L")
            if "p" not in letters:
                reader.fail("G10 without P")
            p = reader.whole(letters["p"], "P")
            if l == 2 and 1 <= p <= 9:
                z = p
            elif l == 20 and 1 <= p <= 48:
                z = 9 + p
            else:
                reader.fail("G10 L P out of range")
            for i, v in given.items():
                self.origin[z][i] = v if self.modal[3] == "90" else self.origin[z][i] + v
        elif code == "52":
            for i, v in given.items():
                self.local[i] = v
        elif code == "92":
            if not given:
                reader.fail("G92 without an axis")
            for i, v in given.items():
                self.shift[i] += here[i] - v
            self.shift_kept = list(self.shift)
        elif code == "92.1":
            self.shift, self.shift_kept = [0.0] * 3, [0.0] * 3
        elif code == "92.2":
            self.shift = [0.0] * 3
        elif code == "92.3":
            self.shift = list(self.shift_kept)
        else:
            if given:
                self.go("rapid", self.target(letters, here), reader.line)
            axes = given.keys() or range(3)
            base = 5161 if code == "28" else 5181
            for i in axes:
                self.nose[i] = self.into(self.parameters.get(base + i, 0.0))
            self.note("rapid", reader.line)

    def target(self, letters, here):
        to = list(here)
        for i, a in enumerate("xyz"):
            if a in letters:
                v = self.into(letters[a])
                to[i] = v if self.modal[3] == "90" else here[i] + v
        return to

    def motion(self, code, letters, reader, machine_frame):
        line, here = reader.line, self.tip()
        if code == "80":
            reader.fail("axes, but no motion")
        if machine_frame:
            if code not in ("0", "1"):
                reader.fail("G53 needs G0 or G1")
            for i, a in enumerate("xyz"):
                if a in letters:
                    self.nose[i] = self.into(letters[a])
            self.note("rapid" if code == "0" else "feed", line)
            return
        to = self.target(letters, here)
        if code == "0":
            self.go("rapid", to, line)
        elif code == "1":
            self.need_feed(letters, reader)
            self.go("feed", to, line)
        elif code in ("31", "38.2"):
            self.need_feed(letters, reader)
            if self.touches:
                to = [self.into(v) for v in self.touches.pop(0)]
            self.go("probe", to, line)
            for i in range(3):
                self.parameters[5061 + i] = self.out(to[i])
        elif code in ("2", "3"):
            self.need_feed(letters, reader)
            self.arc(code, letters, to, here, reader)
        else:
            self.cycle(code, letters, reader)

    def need_feed(self, letters, reader):
        if self.modal[5] == "93" and "f" not in letters:
            reader.fail("inverse time needs F on this line")
        if not self.feed > 0:
            reader.fail("no feed")

    def arc(self, code, letters, to, here, reader):
        u, v, offsets = {"17": (0, 1, "ij"), "18": (2, 0, "ki"), "19": (1, 2, "jk")}[self.modal[2]]
        tolerance = 0.00508 if self.modal[6] == "20" else 0.002
        if "r" in letters:
            du, dv = to[u] - here[u], to[v] - here[v]
            if math.hypot(du, dv) == 0:
                reader.fail("the end of the arc is its start")
            r = self.into(letters["r"])
            if math.hypot(du, dv) / 2 > abs(r) + tolerance:
                reader.fail("the radius is too small")
        elif any(o in letters for o in offsets):
            c = [here[u] + self.into(letters.get(offsets[0], 0.0)), here[v] + self.into(letters.get(offsets[1], 0.0))]
            r0, r1 = math.hypot(here[u] - c[0], here[v] - c[1]), math.hypot(to[u] - c[0], to[v] - c[1])
            if r0 == 0 or abs(r0 - r1) > tolerance:
                reader.fail("the arc's two radii differ")
        else:
            reader.fail("an arc without centre or radius")
        self.go("clockwise" if code == "2" else "counter", to, reader.line)

    def cycle(self, code, letters, reader):
        line = reader.line
        w = {"17": 2, "18": 1, "19": 0}[self.modal[2]]
        if self.modal[5] == "93" or self.modal[7] != "40":
            reader.fail("no cycle under inverse time or radius compensation")
        if not self.sticky or self.sticky.get("code") != code:
            if code in ("83", "73") and "q" not in letters and self.sticky.get("code") not in ("83", "73"):
                reader.fail("a peck without Q")
            self.sticky = {k: v for k, v in self.sticky.items() if k == ("level", w)}
            if "r" not in self.sticky:
                if "r" not in letters:
                    reader.fail("a cycle without R")
        deep = "xyz"[w]
        sticky = self.sticky
        sticky["code"] = code
        for a in (deep, "r", "q", "p"):
            if a in letters:
                sticky[a] = letters[a]
        if deep not in sticky:
            reader.fail("a cycle without depth")
        times = reader.whole(letters.get("l", letters.get("k", 1)) if w == 2 else letters.get("l", 1), "L")
        here = self.tip()
        incremental = self.modal[3] == "91"
        r = self.into(sticky["r"]) + (here[w] if incremental else 0)
        bottom = self.into(sticky[deep]) + (r if incremental else 0)
        if bottom > r:
            reader.fail("the hole ends above R")
        if not self.feed > 0 and code not in ("0",):
            reader.fail("no feed")
        if code == "84" and self.turning != 1 or code == "74" and self.turning != -1:
            reader.fail("tapping, and the spindle does not turn the right way")
        place = list(here)
        # G98 goes back to where the axis was "just before this series of contiguous cycles was started".
        sticky.setdefault(("level", w), self.nose[w])
        level = sticky[("level", w)] - self.frame()[w] - (self.length if w == 2 else 0.0)
        old = here[w]
        if old < r:
            place[w] = old = r
            self.go("rapid", place, line)
        clear = r if self.modal[10] == "99" else max(level, r)

        def rapid(depth):
            place[w] = depth
            self.go("rapid", place, line)

        def feed(depth):
            place[w] = depth
            self.go("feed", place, line)

        for _ in range(times):
            for i, a in enumerate("xyz"):
                if i != w and a in letters:
                    value = self.into(letters[a])
                    place[i] = place[i] + value if incremental else value
            rapid(old)
            if old != r:
                rapid(r)
            if code in ("81", "82"):
                feed(bottom)
                rapid(clear)
            elif code in ("83", "73"):
                q = self.into(sticky.get("q", 0.0))
                if not q > 0:
                    reader.fail("Q must be above nothing")
                rest, depth = 0.254, r - q
                while depth > bottom + 1e-6:
                    feed(depth)
                    if code == "83":
                        rapid(r)
                        rapid(min(depth + rest, r))
                    else:
                        rapid(min(depth + rest, r))
                    depth -= q
                feed(bottom)
                rapid(clear)
            elif code in ("84", "74", "85", "89"):
                feed(bottom)
                feed(clear)
            elif code in ("86", "88"):
                feed(bottom)
                rapid(clear)
            else:
                reader.fail(f"G{code} is not followed here")
            old = clear


class Program:
    """Lines and the way through them."""

    def __init__(self, text, machine):
        self.machine = machine
        self.lines = []  # (number, text, slash)
        percents = 0
        for number, raw in enumerate(text.split("\n"), 1):
            if raw.strip() == "%":
                percents += 1
                if percents == 2:
                    break
                continue
            clean, _, slash = stripped(raw, number)
            self.lines.append((number, clean, slash))
        self.subs, self.labels, self.classic = {}, {}, {}
        owner = 0
        for at, (number, text, _) in enumerate(self.lines):
            reader = Reader(text, machine, number)
            if text.startswith("o"):
                name, rest = self.o_name(text, number)
                if rest == "sub":
                    self.subs[name] = at
                elif rest == "" or rest[0] in ":(":
                    owner = int(name)
                    self.classic[owner] = at
            elif text.startswith("n"):
                reader.at = 1
                digits = ""
                while reader.peek().isdigit():
                    digits += reader.peek()
                    reader.at += 1
                if digits:
                    self.labels.setdefault((owner, int(digits)), at)
            # which program a line belongs to, for GOTO
            self.lines[at] = (number, text, self.lines[at][2], owner)

    def o_name(self, text, number):
        if text[1:2] == "<":
            stop = text.find(">")
            if stop < 0:
                raise Wrong(number, "a name has no end")
            return text[1:stop + 1], text[stop + 1:]
        digits = ""
        while text[1 + len(digits):2 + len(digits)].isdigit():
            digits += text[1 + len(digits)]
        if digits == "":
            raise Wrong(number, "O without a number")
        return str(int(digits)), text[1 + len(digits):]

    def find(self, at, name, words, step=1):
        """the next line from `at` with "o<name>WORD" """
        while 0 <= at < len(self.lines):
            number, text = self.lines[at][:2]
            if text.startswith("o"):
                other, rest = self.o_name(text, number)
                if other == name and any(rest.startswith(w) for w in words):
                    return at
            at += step
        raise Wrong(self.lines[-1][0], f"o{name} has no {' or '.join(words)}")

    def run(self):
        at, stack, loops, steps = 0, [], {}, 0
        machine = self.machine
        while at < len(self.lines) and not machine.over:
            steps += 1
            if steps > 3_000_000:
                raise Wrong(self.lines[at][0], "no end")
            number, text, slash, owner = self.lines[at]
            if text == "" or (slash and machine.skip):
                at += 1
                continue
            reader = Reader(text, machine, number)
            if text[0] == "n" and text[1:2].isdigit():
                reader.at = 1
                while reader.peek().isdigit():
                    reader.at += 1
            rest = text[reader.at:]
            if rest.startswith("o"):
                at = self.o_line(at, rest, number, stack, loops)
                continue
            if rest.startswith("if["):
                reader.at += 2
                held = reader.bracket() != 0
                if reader.take("goto"):
                    target = reader.whole(reader.value(), "N")
                    at = self.label(owner, target, number) if held else at + 1
                elif reader.take("then"):
                    if held:
                        machine.block(reader)
                    at += 1
                else:
                    reader.fail("IF without GOTO or THEN")
                continue
            if rest.startswith("goto"):
                reader.at += 4
                at = self.label(owner, reader.whole(reader.value(), "N"), number)
                continue
            if rest.startswith("while["):
                reader.at += 5
                held = reader.bracket() != 0
                if not reader.take("do"):
                    reader.fail("WHILE without DO")
                loop = reader.whole(reader.value(), "DO")
                if held:
                    loops[("classic", owner, loop)] = at
                    at += 1
                else:
                    at = self.end_of(at, loop, number) + 1
                continue
            if rest.startswith("end") and rest[3:].isdigit():
                key = ("classic", owner, int(rest[3:]))
                if key not in loops:
                    raise Wrong(number, "END without WHILE")
                at = loops.pop(key)
                continue
            after = machine.block(reader)
            at += 1
            if after is None:
                continue
            if after[0] == "end":
                break
            if after[0] == "call":
                if after[1] not in self.classic:
                    raise Wrong(number, f"no program O{after[1]}")
                if after[2] > 0:
                    stack.append(["classic", at, after[1], after[2]])
                    at = self.classic[after[1]] + 1
            elif after[0] == "return":
                if not stack:
                    raise Wrong(number, "M99, and nobody called")
                top = stack[-1]
                top[3] -= 1
                if top[3] > 0:
                    at = self.classic[top[2]] + 1
                else:
                    at = stack.pop()[1]
        return machine

    def label(self, owner, target, number):
        if (owner, target) not in self.labels:
            raise Wrong(number, f"no N{target}")
        return self.labels[(owner, target)]

    def end_of(self, at, loop, number):
        for after in range(at + 1, len(self.lines)):
            if self.lines[after][1] == f"end{loop}":
                return after
        raise Wrong(number, f"no END{loop}")

    def o_line(self, at, text, number, stack, loops):
        machine = self.machine
        name, rest = self.o_name(text, number)
        reader = Reader(rest, machine, number)
        if rest == "" or rest[0] in ":(":
            return at + 1  # a program's own number
        if reader.take("sub"):
            return self.find(at, name, ["endsub"]) + 1
        if reader.take("call"):
            given = []
            while reader.peek() == "[":
                given.append(reader.bracket())
            if name not in self.subs:
                raise Wrong(number, f"no o{name} sub")
            stack.append(["sub", at + 1, name, 1])
            machine.frames.append({i + 1: v for i, v in enumerate(given)})
            return self.subs[name] + 1
        if reader.take("endsub") or reader.take("return"):
            if not stack or stack[-1][0] != "sub":
                raise Wrong(number, "the end of a sub nobody called")
            machine.frames.pop()
            return stack.pop()[1]
        key = (name, len(stack))
        if reader.take("if"):
            if reader.bracket() != 0:
                return at + 1
            return self.other_branch(at, name)
        if reader.take("elseif") or reader.take("else"):
            return self.find(at + 1, name, ["endif"]) + 1
        if reader.take("endif"):
            return at + 1
        if reader.take("while"):
            start = loops.get(("do",) + key)
            if start is not None:  # the end of a do … while
                if reader.bracket() != 0:
                    return start + 1
                del loops[("do",) + key]
                return at + 1
            if reader.bracket() != 0:
                return at + 1
            return self.find(at + 1, name, ["endwhile"]) + 1
        if reader.take("endwhile"):
            return self.find(at - 1, name, ["while"], -1)
        if reader.take("do"):
            loops[("do",) + key] = at
            return at + 1
        if reader.take("repeat"):
            times = reader.whole(reader.bracket(), "repeat")
            if times <= 0:
                return self.find(at + 1, name, ["endrepeat"]) + 1
            loops[("repeat",) + key] = [at, times]
            return at + 1
        if reader.take("endrepeat"):
            held = loops[("repeat",) + key]
            held[1] -= 1
            return held[0] + 1 if held[1] > 0 else at + 1
        if reader.take("break"):
            loops.pop(("do",) + key, None)
            return self.find(at + 1, name, ["endwhile", "endrepeat", "while"]) + 1
        if reader.take("continue"):
            return self.find(at + 1, name, ["endwhile", "endrepeat", "while"])
        raise Wrong(number, f"o{name} {rest}?")

    def other_branch(self, at, name):
        while True:
            at = self.find(at + 1, name, ["elseif", "else", "endif"])
            number, text = self.lines[at][:2]
            rest = self.o_name(text, number)[1]
            if rest.startswith("elseif"):
                reader = Reader(rest, self.machine, number)
                reader.at = 6
                if reader.bracket() != 0:
                    return at + 1
                continue
            return at + 1


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("file")
    parser.add_argument("--zeros", type=json.loads, default={})
    parser.add_argument("--lengths", type=json.loads, default={})
    parser.add_argument("--touches", type=json.loads, default=[])
    parser.add_argument("--skip", action="store_true")
    parser.add_argument("--with", dest="file_with", help="JSON file with zeros, lengths, parameters, touches")
    given = parser.parse_args()
    parameters = {}
    if given.file_with:
        with open(given.file_with, encoding="utf-8") as f:
            known = json.load(f)
        given.zeros = known.get("zeros", given.zeros)
        given.lengths = known.get("lengths", given.lengths)
        given.touches = known.get("touches", given.touches)
        parameters = {int(k): float(v) for k, v in known.get("parameters", {}).items()}
    with open(given.file, encoding="utf-8") as f:
        text = f.read()
    machine = Machine(given.zeros, given.lengths, given.touches, given.skip)
    machine.parameters.update(parameters)
    try:
        Program(text, machine).run()
    except Wrong as wrong:
        print(f"{given.file}:{wrong.line}: {wrong.what}", file=sys.stderr)
        return 2
    json.dump({"moves": machine.moves, "parameters": {str(k): v for k, v in machine.parameters.items()}}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
