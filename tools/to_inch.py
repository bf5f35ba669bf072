#!/usr/bin/env python3
"""A metric plan typed again in inches, pounds and degrees Fahrenheit: tools/to_inch.py plan.toml > plan-inch.toml

Values stay the same to 15 digits; fits, threads, angles, times, money and words stay as they are. For the demo's second plan."""
import re
import sys
from fractions import Fraction as F

POUND = F("0.45359237")
LBF = POUND * F("9.80665")
INCH = F("0.0254")
GALLON = 231 * INCH**3

# unit in the plan: (factor to SI, unit to write, its factor to SI)
UNITS = {
    "mm": (F("0.001"), "in", INCH),
    "cm": (F("0.01"), "in", INCH),
    "µm": (F("0.000001"), "µin", INCH / 1000000),
    "N·m": (F(1), "lbf·in", LBF * INCH),
    "kN": (F(1000), "lbf", LBF),
    "kg": (F(1), "lb", POUND),
    "kg/dm3": (F(1000), "lb/in3", POUND / INCH**3),
    "N/µm": (F(1000000), "lbf/in", LBF / INCH),
    "mm/min": (F("0.001") / 60, "in/min", INCH / 60),
    "L/min": (F("0.001") / 60, "gal/min", GALLON / 60),
    "µm/(m·K)": (F("0.000001"), "µin/(in·°F)", F("0.0000018")),
}
WORDS = {"id", "name", "note", "of", "hardness", "process", "file", "table", "model", "shop", "material", "columns", "measured_as"}
NUMBER = re.compile(r"(?<![A-Za-z\d])(?<!\d\.)\d+(?:\.\d+)?")


def decimal(x: F) -> str:
    """Exact when it ends within 15 digits, else 15 digits."""
    if x == 0:
        return "0"
    whole = len(str(int(abs(x)))) if abs(x) >= 1 else 0
    lead = 0
    y = abs(x)
    while whole == 0 and y * 10 < 1:
        y *= 10
        lead += 1
    places = 15 - whole + lead
    text = f"{round(x * 10**places):d}".rjust(places + 1, "0")
    return (text[:-places] + "." + text[-places:]).rstrip("0").rstrip(".")


def convert(text: str) -> str:
    if "°C" in text:
        return NUMBER.sub(lambda m: decimal(F(m[0]) * 9 / 5 + 32), text).replace("°C", "°F")
    unit = next((u for u in sorted(UNITS, key=len, reverse=True) if re.search(r"\d " + re.escape(u) + r"(?![\w/·(])", text)), None)
    if unit is None:
        return text
    factor, new, new_factor = UNITS[unit]
    bare = text.replace(unit, "\0")
    return NUMBER.sub(lambda m: decimal(F(m[0]) * factor / new_factor), bare).replace("\0", new)


def line_of(line: str) -> str:
    if line.lstrip().startswith("#") or "=" not in line:
        return line
    key = line.split("=", 1)[0].strip()
    if key in WORDS:
        return line
    return re.sub(r'"([^"]*)"', lambda m: '"' + convert(m[1]) + '"', line)


def main() -> None:
    with open(sys.argv[1], encoding="utf-8") as file:
        lines = file.read().split("\n")
    out = [line_of(line) for line in lines]
    out[0] = "# The same plan typed in inches, written by tools/to_inch.py: it gives the same findings. Invented."
    out = [re.sub(r'^units = .*', 'units = "inch"', line) for line in out]
    out = [re.sub(r'^name = "(WVB-3 plan \d)"', r'name = "\1, in inches"', line) for line in out]
    sys.stdout.write("\n".join(out))


if __name__ == "__main__":
    main()
