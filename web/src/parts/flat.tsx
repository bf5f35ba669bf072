import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import { t } from "../texts";

/** `over`: a later cut takes it away, so that it is drawn only where it is spoken of. */
interface Face { feature: string; ring: number[]; over?: boolean }
/** A part seen along one of its axes, as the server draws it (docs/api.md); lengths in m. */
export interface FlatView {
  up: string; model: boolean; box: number[]; back: number[][];
  /** The part's directions that lie on the paper to the right, up it, and to the reader. */
  axes: number[][];
  faces: Face[]; sides: Face[];
  marks: { feature: string; place: number; at: number[]; wide: number; high?: number; hidden: boolean }[];
  raw?: number[][];
  /** Why the model of the part or casting is not in the drawing. */
  notes?: string[];
}

/** A side of the part ("F1.+x", "-y") as a direction on the paper; null where it points at the reader or away. */
export function onPaper(side: string, { axes: [right, up] }: FlatView): { x: number; y: number } | null {
  const m = /([+-])([xyz])$/.exec(side);
  if (!m) return null;
  const i = "xyz".indexOf(m[2]), s = m[1] === "-" ? -1 : 1, x = s * right[i], y = s * up[i];
  return x || y ? { x, y } : null;
}

/** Drawings wait for a model that is read, for seconds; a browser holds few lines to a server. So one is asked at a time, each once. */
let before: Promise<unknown> = Promise.resolve();
interface Asked { view: Promise<FlatView | null>; wanted: number }
const asked = new Map<string, Asked>();
function ask(path: string, hash: string, up: string, raw: boolean): Asked {
  const key = `${path} ${hash} ${up} ${raw}`, old = asked.get(key);
  if (old) return old;
  const one: Asked = { wanted: 0, view: Promise.resolve(null) };
  one.view = before.then(() => (one.wanted ? get<FlatView>("flat", { path, up, raw: raw ? 1 : undefined }) : null)).catch(() => null);
  before = one.view.finally(() => asked.delete(key));
  asked.set(key, one);
  return one;
}

/** The server's drawing of a plan's part; asked again when the plan's text is another. */
export function useFlat(path: string, hash: string | undefined, up: string, raw = false): FlatView | null {
  const [view, set] = useState<FlatView | null>(null);
  useEffect(() => {
    if (!hash || !/^[+-][xyz]$/.test(up)) return set(null);
    let here = true;
    const one = ask(path, hash, up, raw);
    one.wanted++;
    void one.view.then((v) => here && set(v && v.box[2] > v.box[0] ? v : null));
    return () => { here = false; one.wanted--; };
  }, [path, hash, up, raw]);
  return view;
}

export interface Paper { X: (m: number) => number; Y: (m: number) => number; k: number; width: number; height: number }
const MARGIN = 26;

/** Scale and place of a view on the paper, as large as `wide` by `tall`. */
export function paperOf(box: number[], wide: number, tall: number, margin = MARGIN): Paper {
  const w = box[2] - box[0], h = box[3] - box[1], k = Math.min(wide / w, tall / h);
  return { k, X: (x) => margin + (x - box[0]) * k, Y: (y) => margin + (box[3] - y) * k, width: w * k + 2 * margin, height: h * k + 2 * margin };
}

export const ringPath = (ring: number[], p: Paper) => {
  let d = "";
  for (let i = 0; i < ring.length; i += 2) d += `${i ? "L" : "M"}${p.X(ring[i]).toFixed(1)} ${p.Y(ring[i + 1]).toFixed(1)}`;
  return d + "Z";
};

interface Drawing {
  view: FlatView; paper: Paper; label: string; width?: number;
  /** Ids that can be pressed. */
  can: (id: string) => boolean;
  lit: (id: string) => boolean;
  /** Attributes that make the shape a key of its own (by Tab and Enter); else it is only pressed. */
  keys?: (id: string) => object;
  press?: (id: string) => void;
  named?: boolean;
  under?: ComponentChildren; over?: ComponentChildren;
}

/** Below a drawing: that it is made without a model which the plan names, and why. */
export const Without = ({ view }: { view: FlatView }) => <>{view.notes?.map((n) => <span class="without">{t("draw.without", { why: n })}</span>)}</>;

/** The ids that have a shape in this view. */
export const idsOf = (v: FlatView): string[] => [...new Set([...v.faces, ...v.marks, ...v.sides].map((x) => x.feature).filter(Boolean))];

/** A part on paper: faces from the lowest to the highest, then the mouths of its holes; features can be pressed. */
export function FlatDrawing({ view: whole, paper, label, width, can, lit, keys, press, named, under, over }: Drawing) {
  const { X, Y, k } = paper, there = (f: Face) => !f.over || can(f.feature);
  const view = { ...whole, faces: whole.faces.filter(there), sides: whole.sides.filter(there) };
  const tap = press && ((e: MouseEvent) => {
    const id = (e.target as Element).closest("[data-f]")?.getAttribute("data-f");
    if (id) press(id);
  });
  const of = (id: string) => (id && can(id) ? { "data-f": id } : {});
  const face = (id: string) => (id && lit(id) ? "var(--lit)" : "var(--sheet)");
  const ids = keys ? idsOf(view).filter(can) : [];
  const shapes = (id: string) => (
    <>
      {view.sides.filter((s) => s.feature === id).map((s) => <path class="edge" d={ringPath(s.ring, paper)} fill="none" />)}
      {view.faces.filter((f) => f.feature === id).map((f) => <path class="edge" d={ringPath(f.ring, paper)} fill="none" />)}
      {view.marks.filter((m) => m.feature === id).map((m) => (m.high ? <rect class="edge" x={X(m.at[0] - m.wide / 2)} y={Y(m.at[1] + m.high / 2)} width={m.wide * k} height={m.high * k} />
        : <circle class="edge" cx={X(m.at[0])} cy={Y(m.at[1])} r={Math.max(4, (m.wide / 2) * k)} />))}
    </>
  );
  return (
    <svg class="flat" viewBox={`0 0 ${paper.width.toFixed(1)} ${paper.height.toFixed(1)}`} width={width ?? paper.width} role={keys && ids.length ? "group" : "img"} aria-label={label} onClick={tap}>
      {under}
      {view.back.map((r) => <path d={ringPath(r, paper)} fill="var(--sheet)" stroke="var(--soft)" stroke-width=".8" />)}
      {view.faces.map((f) => <path d={ringPath(f.ring, paper)} fill={face(f.feature)} stroke={f.feature && lit(f.feature) ? "var(--warm)" : "var(--soft)"} stroke-width={f.feature && lit(f.feature) ? 2 : 0.9} {...of(f.feature)} />)}
      {view.sides.map((s) => (
        <>
          <path d={ringPath(s.ring, paper)} fill="none" stroke={lit(s.feature) ? "var(--warm)" : "var(--ink)"} stroke-width={lit(s.feature) ? 3 : 1.1} />
          {can(s.feature) && <path d={ringPath(s.ring, paper)} fill="none" stroke="transparent" stroke-width="10" pointer-events="stroke" {...of(s.feature)} />}
        </>
      ))}
      {view.marks.map((m) => {
        const on = lit(m.feature), line = { stroke: on ? "var(--warm)" : can(m.feature) ? "var(--ink)" : "var(--faint)", "stroke-width": on ? 3 : 1.2, "stroke-dasharray": m.hidden ? "3 2.5" : undefined, fill: on ? "var(--lit)" : "transparent", ...of(m.feature) };
        return m.high ? <rect x={X(m.at[0] - m.wide / 2)} y={Y(m.at[1] + m.high / 2)} width={m.wide * k} height={m.high * k} rx={4 * k * 1e-3} {...line} />
          : <><circle cx={X(m.at[0])} cy={Y(m.at[1])} r={(m.wide / 2) * k} {...line} />{can(m.feature) && (m.wide / 2) * k < 9 && <circle cx={X(m.at[0])} cy={Y(m.at[1])} r="9" fill="transparent" {...of(m.feature)} />}</>;
      })}
      {/* a wall seen on end is a thin line, also where a floor lies within it: the finger gets a wider one */}
      {view.marks.filter((m) => !m.high && can(m.feature)).map((m) => <circle cx={X(m.at[0])} cy={Y(m.at[1])} r={(m.wide / 2) * k} fill="none" stroke="transparent" stroke-width="5" pointer-events="stroke" {...of(m.feature)} />)}
      {ids.map((id) => <g {...keys!(id)} pointer-events="none">{shapes(id)}</g>)}
      {named && <g pointer-events="none">{labels(view, paper, can, lit).map((l) => <text class={`n${lit(l.id) ? " hot" : ""}`} x={l.x} y={l.y} font-size="12" font-weight={lit(l.id) ? 700 : 400} text-anchor={l.anchor}>{l.id}</text>)}</g>}
      {over}
    </svg>
  );
}

/** Middle and extent of a ring on the paper. */
function spanOf(ring: number[], p: Paper) {
  const xs = ring.filter((_, i) => !(i % 2)).map(p.X), ys = ring.filter((_, i) => i % 2).map(p.Y);
  const [a, b, c, d] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return { x: (a + b) / 2, y: (c + d) / 2, w: b - a, h: d - c };
}

interface Label { id: string; x: number; y: number; anchor: "start" | "end" | "middle" }

/** An id beside each feature, left out where it would lie on another one: the list says it too. */
function labels(view: FlatView, p: Paper, can: (id: string) => boolean, lit: (id: string) => boolean): Label[] {
  const taken: number[][] = [], out: Label[] = [];
  const free = (b: number[]) => b[0] >= 0 && b[2] <= p.width && b[1] >= 0 && b[3] <= p.height && !taken.some((o) => b[0] < o[2] && b[2] > o[0] && b[1] < o[3] && b[3] > o[1]);
  const put = (id: string, tries: Label[]) => {
    const wide = 7.4 * id.length;
    for (const l of tries) {
      const from = l.anchor === "start" ? l.x : l.anchor === "end" ? l.x - wide : l.x - wide / 2, box = [from - 1, l.y - 11, from + wide + 1, l.y + 2];
      if (!free(box)) continue;
      taken.push(box);
      return void out.push(l);
    }
    if (lit(id)) out.push(tries[0]);
  };
  const said = new Set<string>();
  for (const m of view.marks.filter((x) => can(x.feature))) taken.push([p.X(m.at[0]) - 3, p.Y(m.at[1]) - 3, p.X(m.at[0]) + 3, p.Y(m.at[1]) + 3]);
  for (const m of view.marks) {
    if (said.has(m.feature) || !can(m.feature)) continue;
    said.add(m.feature);
    const x = p.X(m.at[0]), y = p.Y(m.at[1]), r = (Math.max(m.wide, m.high ?? 0) / 2) * p.k, id = m.feature;
    put(id, [{ id, x: x + r + 3, y: y + 4, anchor: "start" }, { id, x: x - r - 3, y: y + 4, anchor: "end" }, { id, x, y: y - r - 3, anchor: "middle" }, { id, x, y: y + r + 12, anchor: "middle" }]);
  }
  for (const f of [...view.faces].reverse()) {
    if (!f.feature || said.has(f.feature) || !can(f.feature)) continue;
    said.add(f.feature);
    const xs = f.ring.filter((_, i) => !(i % 2)), ys = f.ring.filter((_, i) => i % 2), id = f.feature;
    const [a, b, c, d] = [p.X(Math.min(...xs)), p.X(Math.max(...xs)), p.Y(Math.max(...ys)), p.Y(Math.min(...ys))];
    put(id, [{ id, x: a + 6, y: c + 15, anchor: "start" }, { id, x: b - 6, y: c + 15, anchor: "end" }, { id, x: a + 6, y: d - 6, anchor: "start" }, { id, x: (a + b) / 2, y: (c + d) / 2 + 4, anchor: "middle" }]);
  }
  for (const s of view.sides) {
    if (said.has(s.feature) || !can(s.feature)) continue;
    said.add(s.feature);
    // beside its longest line: below or above what runs across, left or right of what stands
    const longest = view.sides.filter((o) => o.feature === s.feature).map((o) => spanOf(o.ring, p)).sort((a, b) => Math.max(b.w, b.h) - Math.max(a.w, a.h))[0];
    const id = s.feature, { x, y, w, h } = longest;
    put(id, w >= h ? [{ id, x, y: y + h / 2 + 12, anchor: "middle" }, { id, x, y: y - h / 2 - 4, anchor: "middle" }, { id, x: x - w / 4, y: y + h / 2 + 12, anchor: "middle" }, { id, x: x - w / 4, y: y - h / 2 - 4, anchor: "middle" }]
      : [{ id, x: x + w / 2 + 4, y, anchor: "start" }, { id, x: x - w / 2 - 4, y, anchor: "end" }]);
  }
  return out;
}
