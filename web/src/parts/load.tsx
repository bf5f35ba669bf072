import type { ComponentChildren } from "preact";
import { t } from "../texts";
import { FlatDrawing, paperOf, useFlat, Without } from "./flat";

/** What the picture shows of a step, in the part's axes, m (docs/api.md). */
export interface Sign { kind: string; looks: number[]; at: number[][] }
export interface Shown { n: number; mark?: Sign }
interface Spot { n: number; x: number; y: number; held: boolean; hidden: boolean }

const MARGIN = 62, BADGE = 12, OUT = 17;
const dot = (a: number[], b: number[]) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const GRIPS = ["vise", "vise gang", "jaw carrier"];

/** The part from above as it lies, and the number of each step where it touches: dashed underneath, filled what presses. */
export function LoadPicture({ path, hash, up, kind, parts, steps }: { path: string; hash: string; up: string; kind: string; parts: number; steps: Shown[] }) {
  const view = useFlat(path, hash, up);
  if (!view) return <figure class="loads"><figcaption>{t("load.none")}</figcaption></figure>;
  const paper = paperOf(view.box, 330, 300, MARGIN), [right, away, high] = view.axes, [x0, y0, x1, y1] = view.box;
  const X = (p: number[]) => paper.X(dot(p, right)), Y = (p: number[]) => paper.Y(dot(p, away));
  const spots: Spot[] = [], signs: ComponentChildren[] = [];
  /** A number where none stands yet. */
  const badge = (n: number, x: number, y: number, held: boolean, hidden: boolean) => {
    const free = (a: number, b: number) => !spots.some((s) => Math.hypot(s.x - a, s.y - b) < 2 * BADGE + 1);
    const [dx, dy] = [[0, 0], [0, -26], [26, 0], [0, 26], [-26, 0], [26, -26], [-26, 26]].find(([a, b]) => free(x + a, y + b)) ?? [0, 0];
    if (dx || dy) signs.push(<path d={`M${x} ${y}l${dx} ${dy}`} stroke="var(--ink)" stroke-width="1.4" />);
    spots.push({ n, x: x + dx, y: y + dy, held, hidden });
  };
  for (const { n, mark } of steps) {
    if (!mark || mark.kind === "chuck") continue;
    const held = mark.kind === "clamp", out = { x: dot(mark.looks, right), y: -dot(mark.looks, away) }, to = dot(mark.looks, high);
    if (/pin$/.test(mark.kind)) {
      for (const p of mark.at) {
        signs.push(mark.kind === "round pin" ? <circle cx={X(p)} cy={Y(p)} r="6" fill="var(--sheet)" stroke="var(--ink)" stroke-width="2.6" /> : <ellipse cx={X(p)} cy={Y(p)} rx="3.4" ry="6.4" fill="var(--sheet)" stroke="var(--ink)" stroke-width="2.4" />);
        badge(n, X(p), Y(p) - 20, false, false);
      }
    } else if (Math.abs(to) > 0.5) {
      for (const p of mark.at) badge(n, X(p), Y(p), held, to < 0);
    } else if (mark.kind === "jaw" || (held && GRIPS.includes(kind))) {
      // as wide as most of the side, wherever on it the plan has its points
      const p = mark.at[0], sideways = Math.abs(out.x) > 0.5, mx = sideways ? X(p) : paper.X((x0 + x1) / 2), my = sideways ? paper.Y((y0 + y1) / 2) : Y(p);
      const half = 0.36 * (sideways ? y1 - y0 : x1 - x0) * paper.k, a = { x: mx + out.x * 14, y: my + out.y * 14 };
      signs.push(<rect x={sideways ? Math.min(mx, mx + out.x * 14) : mx - half} y={sideways ? my - half : Math.min(my, my + out.y * 14)} width={sideways ? 14 : 2 * half} height={sideways ? 2 * half : 14} fill={held ? "var(--sheet)" : "var(--ink)"} stroke="var(--ink)" stroke-width="1.8" />);
      if (held) signs.push(arrow(a.x, a.y, out));
      badge(n, a.x + out.x * (held ? 32 : OUT), a.y + out.y * (held ? 32 : OUT), held, false);
    } else {
      for (const p of mark.at) {
        const x = X(p), y = Y(p);
        signs.push(held ? arrow(x, y, out) : <path d={`M${x} ${y}L${x + out.x * 13 - out.y * 8} ${y + out.y * 13 + out.x * 8}L${x + out.x * 13 + out.y * 8} ${y + out.y * 13 - out.x * 8}Z`} fill="var(--ink)" />);
        badge(n, x + out.x * (held ? 32 : 13 + OUT), y + out.y * (held ? 32 : 13 + OUT), held, false);
      }
    }
  }
  const numbers = spots.map((s) => (
    <g>
      <circle cx={s.x} cy={s.y} r={BADGE} fill={s.held ? "var(--ink)" : "var(--sheet)"} stroke="var(--ink)" stroke-width="2" stroke-dasharray={s.hidden ? "4 3" : undefined} />
      <text x={s.x} y={s.y + 5} text-anchor="middle" font-size="15" font-weight="700" class={s.held ? "onink" : undefined}>{s.n}</text>
    </g>
  ));
  return (
    <figure class="loads">
      <FlatDrawing view={view} paper={paper} width={460} label={t("load.picture", { up })} can={() => false} lit={() => false} over={<>{signs}{numbers}</>} />
      <figcaption>{t("load.seen")}{spots.some((s) => s.held) && ` ${t("load.held")}`}{spots.some((s) => s.hidden) && ` ${t("load.hidden")}`}{parts > 1 && kind === "vise gang" ? ` ${t("load.series", { n: parts })}` : parts > 1 && kind === "jaw carrier" ? ` ${t("load.jaw", { n: parts })}` : ""}<Without view={view} /></figcaption>
    </figure>
  );
}

/** An arrow that ends at x, y and comes from outside. */
const arrow = (x: number, y: number, out: { x: number; y: number }) => (
  <path d={`M${x + out.x * 22} ${y + out.y * 22}L${x} ${y}M${x + out.x * 8 - out.y * 5} ${y + out.y * 8 + out.x * 5}L${x} ${y}L${x + out.x * 8 + out.y * 5} ${y + out.y * 8 - out.x * 5}`} fill="none" stroke="var(--ink)" stroke-width="2.4" />
);
