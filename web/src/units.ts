/**
 * Inch and metric at the point of reading. The study writes its texts in the plan's units; here the same texts are said in
 * the other system. Conversion factors are exact (1 in = 25.4 mm, 1 lbf = 4.4482216152605 N, 1 lb = 0.45359237 kg).
 */
export type System = "metric" | "inch";

interface Pair {
  metric: string;
  inch: string;
  factor: number; // inch value = metric value * factor + offset
  offset?: number;
  digits: number; // decimals more on the inch side
}

const POUND_FORCE = 4.4482216152605;
// the units that the server prints; where two stand for one, the first is the one that is said
const pairs: Pair[] = [
  { metric: "N/mm", inch: "lbf/in", factor: 25.4 / POUND_FORCE, digits: 0 },
  { metric: "N/µm", inch: "lbf/in", factor: 25400 / POUND_FORCE, digits: 0 },
  { metric: "kN/mm", inch: "klbf/in", factor: 25.4 / POUND_FORCE, digits: 1 },
  { metric: "mm/tooth", inch: "in/tooth", factor: 1 / 25.4, digits: 2 },
  { metric: "mm/rev", inch: "in/rev", factor: 1 / 25.4, digits: 2 },
  { metric: "mm/min", inch: "in/min", factor: 1 / 25.4, digits: 2 },
  { metric: "m/min", inch: "ft/min", factor: 1 / 0.3048, digits: 0 },
  { metric: "cm³/min", inch: "in³/min", factor: 1 / 16.387064, digits: 2 },
  { metric: "cm³", inch: "in³", factor: 1 / 16.387064, digits: 1 },
  { metric: "L/min", inch: "gal/min", factor: 1 / 3.785411784, digits: 2 },
  { metric: "N·m", inch: "lbf·ft", factor: 1 / (POUND_FORCE * 0.3048), digits: 1 },
  { metric: "N·m", inch: "lbf·in", factor: 1 / (POUND_FORCE * 0.0254), digits: -1 },
  { metric: "N", inch: "lbf", factor: 1 / POUND_FORCE, digits: 1 },
  { metric: "kN", inch: "lbf", factor: 1000 / POUND_FORCE, digits: 0 },
  { metric: "MPa", inch: "psi", factor: 1e6 * 0.0254 ** 2 / POUND_FORCE, digits: 0 },
  { metric: "MPa", inch: "ksi", factor: 1e3 * 0.0254 ** 2 / POUND_FORCE, digits: 2 },
  { metric: "mm", inch: "in", factor: 1 / 25.4, digits: 2 },
  { metric: "µm", inch: "µin", factor: 1 / 0.0254, digits: 0 },
  { metric: "cm", inch: "in", factor: 1 / 2.54, digits: 1 },
  { metric: "kg", inch: "lb", factor: 1 / 0.45359237, digits: 1 },
  { metric: "kW", inch: "hp", factor: 1 / 0.745699871582, digits: 1 },
  { metric: "°C", inch: "°F", factor: 1.8, offset: 32, digits: 1 },
];

const escape = (s: string) => s.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&");
const unitList = (from: System) => pairs.map((p) => p[from]).sort((a, b) => b.length - a.length).map(escape).join("|");
const NUMBER = "[-+±−]?\\d+(?:\\.\\d+)?";
// one or several numbers before one unit: "330 x 250 x 25 mm", "±78, ±57 mm", "7.970..7.978 mm"
const SEPARATOR = "(?:\\s*(?:x|×|,|\\.\\.)\\s*|\\s*/\\s*)";
const matcher = (from: System) =>
  new RegExp(`(?<![\\w.])((?:${NUMBER}${SEPARATOR})*)(${NUMBER}) (${unitList(from)})(?![\\w/·²³])`, "g");
const matchers = { metric: matcher("metric"), inch: matcher("inch") };

/** One number text in the other system: a length to 0.0001 in, whatever is small or `fine` with the places that keep its last digit. */
function convertNumber(text: string, pair: Pair, to: System, fine: boolean): string {
  const sign = /^[±+]/.test(text) ? text[0] : "";
  const value = Number(text.replace("−", "-").replace(/^[±+]/, ""));
  const decimals = (text.split(".")[1] ?? "").length;
  const offset = sign === "±" ? 0 : (pair.offset ?? 0);
  const out = to === "inch" ? value * pair.factor + offset : (value - offset) / pair.factor;
  const wanted = to === "inch" ? Math.max(decimals + pair.digits, pair.metric === "mm" ? 3 : 0) : decimals - pair.digits + 1;
  const most = to === "inch" && pair.metric === "mm" && !fine && Math.abs(out) >= 0.1 ? (decimals > 3 ? 5 : 4) : 7;
  return sign + out.toFixed(Math.min(most, Math.max(0, wanted)));
}

/** Numbers with more places than anybody reads (1.57086614173228 in) are said with six; what is typed keeps them all. */
const shown = (text: string) => text.replace(/\d+\.\d{7,}/g, (n) => String(Number(Number(n).toFixed(6))));

/** The text with every quantity in it said in `to`; `from` is how it was written; `fine` where sizes are held against limits. */
export function say(text: string | undefined | null, from: System, to: System, fine = false): string {
  if (!text) return "";
  if (from === to) return shown(text);
  return shown(text).replace(matchers[from], (_whole, list: string, last: string, unit: string) => {
    const pair = pairs.find((p) => p[from] === unit)!;
    const head = list.replace(new RegExp(NUMBER, "g"), (n) => convertNumber(n, pair, to, true));
    return `${head}${convertNumber(last, pair, to, fine || head !== "")} ${pair[to]}`;
  });
}

/** An SI number of a kind for reading, where the study gave no text. */
export function fromSi(value: number | null | undefined, kind: string, to: System): string {
  if (value === null || value === undefined) return "—";
  const show = (x: number) => Number(x.toPrecision(4)).toString();
  const units: Record<string, [number, string]> = {
    length: [1e3, "mm"], mass: [1, "kg"], force: [1, "N"], torque: [1, "N·m"], temperature: [1, "°C"], time: [1, "s"],
    share: [100, "%"], fraction: [100, "%"], "feed per tooth": [1e3, "mm/tooth"], "rotational speed": [60 / (2 * Math.PI), "rpm"],
    stiffness: [1e-6, "N/µm"], angle: [180 / Math.PI, "°"], pressure: [1e-6, "MPa"], power: [1e-3, "kW"],
    "temperature difference": [1, "K"], frequency: [1, "Hz"],
  };
  const unit = units[kind];
  if (!unit) return show(value);
  const scaled = kind === "temperature" ? value - 273.15 : value * unit[0];
  return say(`${show(scaled)} ${unit[1]}`, "metric", to);
}
