/**
 * The plan's text as the page shows it: which key stands on which line with which words. Nothing is computed from it but
 * drawings; the study reads the file itself.
 */
export interface Leaf { key: string; text: string; line: number; list: boolean }
export type Table = { [name: string]: Leaf | Table | Table[] };
export interface PlanText { root: Table; leaves: Map<string, Leaf> }

const isLeaf = (x: unknown): x is Leaf => typeof (x as Leaf)?.line === "number" && typeof (x as Leaf).text === "string";

function valueText(raw: string): string {
  const s = raw.trim();
  if (s.startsWith("[")) return [...s.matchAll(/"([^"]*)"|([-+\w.]+)/g)].map((m) => m[1] ?? m[2]).join("; ");
  const quoted = /^"((?:[^"\\]|\\.)*)"/.exec(s);
  return quoted ? quoted[1] : s.replace(/\s+#.*$/, "");
}

/** Reads the subset of TOML that plan files use; a line that it does not know is passed over, never guessed. */
export function readPlan(text: string): PlanText {
  const root: Table = {};
  const leaves = new Map<string, Leaf>();
  let here: Table = root;
  const lines = text.split("\n");
  const descend = (path: string[], isList: boolean) => {
    let at: Table = root;
    path.forEach((name, i) => {
      if (i === path.length - 1 && isList) {
        const all = (at[name] ??= []) as Table[];
        all.push({});
        at = all[all.length - 1];
      } else {
        const next = (at[name] ??= {}) as Table | Table[];
        at = Array.isArray(next) ? next[next.length - 1] : next;
      }
    });
    here = at;
  };
  for (let i = 0; i < lines.length; i++) {
    const line = lines[i].trim();
    const head = /^(\[\[?)([\w.]+)\]\]?/.exec(line);
    if (head) {
      descend(head[2].split("."), head[1] === "[[");
      continue;
    }
    const pair = /^([\w-]+)\s*=\s*(.*)$/.exec(line);
    if (!pair) continue;
    let raw = pair[2];
    const start = i;
    while (raw.startsWith("[") && !/\]\s*(#.*)?$/.test(raw) && i + 1 < lines.length) raw += " " + lines[++i].trim();
    here[pair[1]] = { key: pair[1], text: valueText(raw), line: start + 1, list: raw.startsWith("[") };
  }
  nameKeys(root, "", leaves);
  return { root, leaves };
}

/** Keys as the server spells them: a row of a list by its id, else its tool, else its number; a second of that name "T11#2". */
function nameKeys(at: Table, prefix: string, leaves: Map<string, Leaf>): void {
  for (const [name, x] of Object.entries(at)) {
    const key = prefix ? `${prefix}.${name}` : name;
    if (isLeaf(x)) {
      x.key = key;
      leaves.set(key, x);
    } else if (Array.isArray(x)) {
      const seen = new Map<string, number>();
      x.forEach((row, i) => {
        const own = (isLeaf(row.id) && row.id.text) || (isLeaf(row.tool) && row.tool.text) || String(i + 1);
        const n = (seen.get(own) ?? 0) + 1;
        seen.set(own, n);
        nameKeys(row, `${key}.${n > 1 ? `${own}#${n}` : own}`, leaves);
      });
    } else nameKeys(x, key, leaves);
  }
}

export const list = (t: Table | undefined, name: string): Table[] => (Array.isArray(t?.[name]) ? (t[name] as Table[]) : []);
export const table = (t: Table | undefined, name: string): Table | undefined =>
  t && t[name] && !isLeaf(t[name]) && !Array.isArray(t[name]) ? (t[name] as Table) : undefined;
export const leaf = (t: Table | undefined, name: string): Leaf | undefined => (t && isLeaf(t[name]) ? (t[name] as Leaf) : undefined);
export const word = (t: Table | undefined, name: string): string => leaf(t, name)?.text ?? "";

const PER_UNIT: Record<string, number> = { mm: 1, in: 25.4, cm: 10, m: 1000, "µm": 0.001 };

/** Numbers of a text with one length unit at its end, in mm: "330 x 250 x 25 mm" gives three. */
export function millimetres(text: string): number[] {
  const unit = /(mm|in|cm|µm|m)\s*$/.exec(text.trim())?.[1] ?? "mm";
  const plain = text.replace(/^Ø/, "").replace(/\+?[\d.]+\/-?[\d.]+/, "");
  return [...plain.matchAll(/-?\d+(?:\.\d+)?/g)].map((m) => Number(m[0]) * PER_UNIT[unit]);
}

export interface Point { x: number; y: number }

/** Places of "±78, ±57 mm" or a list of "x, y mm": lowest y first, then lowest x, as the nests are numbered. */
export function places(text: string): Point[] {
  const out: Point[] = [];
  for (const one of text.split(";").map((s) => s.trim()).filter(Boolean)) {
    const unit = /(mm|in|cm|m)\s*$/.exec(one)?.[1] ?? "mm";
    const parts = one.replace(/(mm|in|cm|m)\s*$/, "").split(",").map((s) => s.trim());
    const spread = (s: string | undefined): number[] => {
      const v = Number((s ?? "0").replace("±", "")) * PER_UNIT[unit];
      return !Number.isFinite(v) ? [] : (s ?? "").startsWith("±") && v !== 0 ? [-v, v] : [v];
    };
    for (const y of spread(parts[1])) for (const x of spread(parts[0])) out.push({ x, y });
  }
  return out;
}

/** A moved place written as the plan wrote it: a symmetric pattern stays one. */
export function movedPlace(text: string, index: number, to: Point): string {
  const unit = /(mm|in|cm|m)\s*$/.exec(text.trim())?.[1] ?? "mm";
  const show = (v: number) => String(Math.round((v / PER_UNIT[unit]) * (unit === "in" ? 1e4 : 1e3)) / (unit === "in" ? 1e4 : 1e3));
  const items = text.split(";").map((s) => s.trim()).filter(Boolean);
  let seen = 0;
  const out = items.map((one) => {
    const n = places(one).length;
    const mine = index >= seen && index < seen + n;
    seen += n;
    if (!mine) return one;
    const was = one.replace(/(mm|in|cm|m)\s*$/, "").split(",").map((s) => s.trim());
    const put = (old: string, v: number) => (old.startsWith("±") ? `±${show(Math.abs(v))}` : show(v));
    return [put(was[0], to.x), put(was[1] ?? "0", to.y), ...was.slice(2)].join(", ") + ` ${unit}`;
  });
  return out.join("; ");
}

/** The thread's own diameter in mm: "M8x1.25" 8, "3/8-16 UNC" 9.525; none where the text says none. */
export function threadMajor(text: string): number | undefined {
  const metric = /^M\s*(\d+(?:\.\d+)?)/.exec(text.trim());
  if (metric) return Number(metric[1]);
  const inch = /^(?:(\d+)-)?(\d+)\/(\d+)-/.exec(text.trim());
  return inch ? (Number(inch[1] ?? 0) + Number(inch[2]) / Number(inch[3])) * 25.4 : undefined;
}

/** An angle in degrees: "30 deg", "0.5 rad". */
export function degrees(text: string): number {
  const v = Number(/-?[\d.]+/.exec(text)?.[0] ?? 0);
  return /rad\s*$/.test(text) ? (v * 180) / Math.PI : v;
}
