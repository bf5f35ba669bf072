import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import type { Desk } from "../desk_state";
import { degrees, leaf, list, millimetres, movedPlace, places, table, threadMajor, word, type Leaf, type Point, type Table } from "../plan";
import { t } from "../texts";
import { say, type System } from "../units";
import type { Finding } from "../model";
import { bare, featureKey, seenFromAbove, titleOf, type Features, type Seen } from "./feature";

interface Props { desk: Desk; units: System; from: System; hurts?: Finding; alight?: string; onPick?: (finding: string) => void; still?: boolean; only?: number; /** features can be pressed */ features?: Features; op?: string; zoom?: boolean; /** drawn over it, in mm of the pallet */ over?: (X: (mm: number) => number, Y: (mm: number) => number, k: number, Z: (mm: number) => number) => ComponentChildren }

const TREMBLE = 3; // px that a finger may move and still only press
const HURT = "!";  // stands for the finding that is drawn on the nest, where else a feature's id stands

interface Nests { key: Leaf; index: number; p: Point; n: number; turn: number }

const rowsAt = (desk: Desk, rows: Table[], name = "at"): Nests[] => {
  const out: Nests[] = [];
  for (const row of rows) {
    const key = leaf(row, name);
    if (!key) continue;
    const turned = leaf(row, "turn"), turn = turned ? degrees(desk.text(turned.key, turned.text)) : 0;
    places(desk.text(key.key, key.text)).forEach((p, index) => out.push({ key, index, p, n: out.length + 1, turn }));
  }
  return out;
};

/** How far a key or the grid under a pointer goes, mm: in the units that are read. */
const step = (units: System, fine: boolean) => (units === "inch" ? 1.27 : 1) / (fine ? 10 : 1);

/** Seen from above, but opening downwards and covered by metal: drawn dashed, as hidden edges are. */
function hidden(f: Seen, all: Seen[], plan: Table, high: number): boolean {
  const of = (id: string) => list(plan, "feature").find((x) => word(x, "id") === id);
  const row = of(f.id);
  if (word(row, "normal") !== "-z" || millimetres(word(row, "to"))[0] >= high - 0.01) return false;
  return !all.some((b) => b.r > f.r && b.p.x === f.p.x && b.p.y === f.p.y && word(of(b.id), "normal") === "+z");
}

/** The pallet in plan and from the side, to scale; nests, anchors, edges and thickness can be pulled. */
export function Pallet({ desk, units, from, hurts, still, only, features, op = "", alight, onPick, zoom, over }: Props) {
  const svg = useRef<SVGSVGElement>(null);
  const [held, hold] = useState<{ id: string; at: Point } | null>(null);
  const root = desk.plan!.root;
  const pallet = table(root, "pallet");
  const plateLeaf = leaf(table(pallet, "plate"), "size");
  if (!pallet || !plateLeaf) return <p class="soft">{t("draw.bare")}</p>;
  const nowSize = desk.text(plateLeaf.key, plateLeaf.text);
  const [plateX, plateY, plateZ] = millimetres(nowSize);
  const [wasX, wasY, wasZ] = millimetres(plateLeaf.text);
  const part = table(root, "part");
  const [px = 0, py = 0, pz = 0] = millimetres(word(part, "size"));
  const corner = millimetres(word(part, "corner_radius"))[0] ?? 0;
  const nests = rowsAt(desk, list(pallet, "nest"));
  const anchors = rowsAt(desk, list(pallet, "anchor"));
  // numbers and heads as on the drawings: by place, twice the thread where nobody said the head
  const screws = list(pallet, "screw").flatMap((s) => {
    const r = (millimetres(word(s, "head"))[0] ?? 2 * (threadMajor(word(s, "thread")) ?? 6.5)) / 2;
    const through = bare(word(s, "through"));
    return places(word(list(root, "feature").find((f) => word(f, "id") === through), "at") || word(s, "at")).map((p) => ({ ...p, r, through }));
  });
  const pins = list(pallet, "pin").map((pin) => {
    const [id, n] = word(pin, "in").split("@");
    const key = leaf(list(root, "feature").find((f) => word(f, "id") === id), "at");
    return { kind: word(pin, "kind"), key, index: Number(n || 1) - 1, p: places(key ? desk.text(key.key, key.text) : "")[Number(n || 1) - 1], id };
  }).filter((pin) => pin.p);
  const k = 510 / Math.max(plateX || 1, (plateY || 1) * 1.25);
  const left = 62, top = 16, gap = 58;
  const X = (x: number) => left + (x + plateX / 2) * k, Y = (y: number) => top + (plateY / 2 - y) * k;
  const high = plateY * k, wide = plateX * k, sideTop = top + high + gap + pz * k;
  const width = left + wide + 190, height = sideTop + plateZ * k + 40;
  const s = (x: string | undefined) => say(x, from, units);
  const unit = /in\s*$/.test(plateLeaf.text) ? "in" : "mm";
  const size = (x: number, y: number, z: number) => `${[x, y, z].map((v) => (unit === "in" ? +(v / 25.4).toFixed(4) : +v.toFixed(3))).join(" x ")} ${unit}`;

  /** Pointer and arrow keys do the same thing: move by (dx, dy) mm. */
  const grip = (id: string, name: string, at: Point, put: (to: Point) => void, axis?: "x" | "y", tap?: (on: string) => void) => still ? {} : {
    class: "grip", tabindex: 0, role: "button" as const, "aria-label": name,
    onPointerDown: (e: PointerEvent) => {
      e.stopPropagation(); // a pin stands on a nest: only the thing under the finger moves
      (e.currentTarget as Element).setPointerCapture(e.pointerId);
      hold({ id, at: { x: e.clientX, y: e.clientY } });
      start.current = at;
      touched.current = { on: under(e), far: 0 };
    },
    onPointerMove: (e: PointerEvent) => {
      if (held?.id !== id || !svg.current) return;
      touched.current.far = Math.max(touched.current.far, Math.hypot(e.clientX - held.at.x, e.clientY - held.at.y));
      if (touched.current.far <= TREMBLE) return; // pressed, not pulled
      const scale = svg.current.viewBox.baseVal.width / svg.current.getBoundingClientRect().width / k;
      const to = { x: start.current.x + (e.clientX - held.at.x) * scale, y: start.current.y - (e.clientY - held.at.y) * scale };
      const by = step(units, e.shiftKey), round = (v: number) => +(Math.round(v / by) * by).toFixed(6);
      put({ x: axis === "y" ? at.x : round(to.x), y: axis === "x" ? at.y : round(to.y) });
    },
    onPointerUp: () => {
      hold(null);
      if (touched.current.far <= TREMBLE) tap?.(touched.current.on);
    },
    onKeyDown: (e: KeyboardEvent) => {
      const by = step(units, e.shiftKey);
      const d = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, by], ArrowDown: [0, -by] }[e.key];
      if (!d) return;
      e.preventDefault();
      e.stopPropagation();
      put({ x: at.x + d[0], y: at.y + d[1] });
    },
  };
  const start = useRef<Point>({ x: 0, y: 0 });
  const touched = useRef({ on: "", far: 0 });
  const place = (n: Nests, name: string) => (to: Point) => {
    const text = desk.text(n.key.key, n.key.text);
    const next = movedPlace(text, n.index, to);
    desk.propose({ key: n.key.key, value: n.key.list ? next.split("; ") : next, was: n.key.text, name });
  };
  const plate = (x: number, y: number, z: number) => desk.propose({ key: plateLeaf.key, value: size(x, y, z), was: plateLeaf.text, name: t("draw.thick", { value: "" }) });
  // where zero is, is a word of the plan: the cross opens it in the sentence
  const zeroLeaf = leaf(list(root, "operation").find((o) => word(o, "kind") === "pallet"), "zero");
  const zero = zeroLeaf ? desk.text(zeroLeaf.key, zeroLeaf.text) : "—";
  const openZero = () => zeroLeaf && document.querySelector<HTMLElement>(`.val[title$="${zeroLeaf.key}"]`)?.click();
  // the feature of the finding that is open is alight here as it is in 3-D
  const lit = features ? features.now : bare((alight && desk.shown.find((f) => f.id === alight)?.feature) || "");
  const line = (id: string) => (id === lit ? { stroke: "var(--warm)", "stroke-width": 3 } : { stroke: "var(--soft)", "stroke-width": 1.1 });
  const rows = list(root, "feature"), profile = word(rows.find((f) => word(f, "kind") === "profile"), "id");
  const outline = !!lit && lit === profile;
  const top_ = word(rows.filter((f) => word(f, "kind") === "face" && word(f, "normal") === "+z" && word(f, "size")).sort((a, b) => (millimetres(word(b, "at"))[2] ?? 0) - (millimetres(word(a, "at"))[2] ?? 0))[0], "id");
  const seen = seenFromAbove(root);
  const tapped = (on: string) => (on === HURT ? hurts && onPick?.(hurts.id) : on && features?.press(on, op));
  const bad = hurts?.nest ? Number(hurts.nest) : undefined;
  const said = (v: number) => s(`${+v.toFixed(1)} mm`);
  const shown = only ? nests[only - 1] : undefined;
  const straight = nests.find((n) => !n.turn) ?? nests[0]; // pins are pulled where they do not stand turned
  const across = shown && Math.abs(Math.sin((shown.turn * Math.PI) / 180)) > 0.7, [zx, zy] = across ? [py, px] : [px, py];
  const about = (deg: number, x: number, y: number) => (deg ? `rotate(${deg} ${x} ${y})` : undefined);
  const frame = zoom && shown ? `${X(shown.p.x - zx / 2) - 12} ${Y(shown.p.y + zy / 2) - 12} ${zx * k + 24} ${zy * k + 24}` : still ? `0 0 ${left + wide + 10} ${top + high + 44}` : `0 0 ${width} ${height}`;
  return (
    <figure>
      <svg ref={svg} viewBox={frame} width={still ? (zoom ? 460 : 250) : width} role={still ? "img" : "group"} aria-label={zoom && only ? t("draw.load", { n: only }) : t("draw.pallet", { size: s(nowSize), n: nests.length })}>
        {(wasX !== plateX || wasY !== plateY) && <rect class="ghost" x={X(-wasX / 2)} y={Y(wasY / 2)} width={wasX * k} height={wasY * k} fill="none" stroke="var(--ink)" stroke-dasharray="6 4" />}
        <rect x={X(-plateX / 2)} y={Y(plateY / 2)} width={wide} height={high} rx="6" fill="var(--sheet)" stroke="var(--ink)" stroke-width="2" />
        {list(pallet, "run_off").map((r) => {
          const w = (millimetres(word(r, "width"))[0] ?? 0) * k;
          const xs = [...new Set(nests.map((n) => n.p.x))];
          return xs.map((x) => <rect x={X(x) - w / 2} y={Y(plateY / 2)} width={w} height={high} fill="url(#skin)" stroke="var(--hair)" />);
        })}
        {nests.map((n) => (
          <g {...grip(`n${n.n}`, t("draw.nest", { n: n.n }), n.p, place(n, t("draw.nest", { n: n.n })), undefined, tapped)} opacity={only && only !== n.n ? 0.35 : undefined}>
            <g transform={about(-n.turn, X(n.p.x), Y(n.p.y))}>
            <rect x={X(n.p.x - px / 2 - 2.2)} y={Y(n.p.y + py / 2 + 2.2)} width={(px + 4.4) * k} height={(py + 4.4) * k} rx={corner * k} fill="url(#skin)" stroke="var(--faint)" />
            <rect class="edge" data-f={top_} x={X(n.p.x - px / 2)} y={Y(n.p.y + py / 2)} width={px * k} height={py * k} rx={corner * k} fill={top_ && lit === top_ ? "var(--lit)" : "var(--sheet)"} fill-opacity=".92" stroke={outline || (alight && bad === n.n) ? "var(--warm)" : "var(--ink)"} stroke-width={outline ? 3 : only === n.n ? 2.6 : 1.4} />
            {profile && features && <rect data-f={profile} x={X(n.p.x - px / 2)} y={Y(n.p.y + py / 2)} width={px * k} height={py * k} rx={corner * k} fill="none" stroke="transparent" stroke-width="9" pointer-events="stroke" />}
            {seen.filter((f) => !still || !hidden(f, seen, root, pz)).map((f) => f.kind === "face" ? (features && <circle data-f={f.id} cx={X(n.p.x + f.p.x)} cy={Y(n.p.y + f.p.y)} r={f.r * k} fill={f.id === lit ? "var(--lit)" : "transparent"} />)
              : <Shape f={f} x={X(n.p.x + f.p.x)} y={Y(n.p.y + f.p.y)} k={k} press={!!features} hollow={f.kind === "groove" || seen.some((b) => b.kind === "face" && Math.abs(b.r - f.r) < 0.05 && b.p.x === f.p.x && b.p.y === f.p.y)} dashed={hidden(f, seen, root, pz) || f.kind === "groove"} {...line(f.id)} />)}
            {pins.map((pin) => (
              <g data-f={pin.id}>
                <title>{t(pin.kind === "round" ? "draw.round" : "draw.relieved")}</title>
                {zoom && only === n.n && <text x={X(n.p.x + pin.p.x) + (pin.p.x < 0 ? 10 : -10)} y={Y(n.p.y + pin.p.y) + 4.5} text-anchor={pin.p.x < 0 ? "start" : "end"} font-size={(11 * (zx * k + 24)) / 228} transform={about(n.turn, X(n.p.x + pin.p.x), Y(n.p.y + pin.p.y))}>{t(pin.kind === "round" ? "draw.round" : "draw.relieved")}</text>}
                {pin.kind === "round" ? <circle cx={X(n.p.x + pin.p.x)} cy={Y(n.p.y + pin.p.y)} r={4.2 * k} fill="var(--sheet)" class="edge" stroke="var(--ink)" stroke-width="2.6" />
                  : <g transform={`rotate(${(-Math.atan2(pin.p.y, pin.p.x) * 180) / Math.PI} ${X(n.p.x + pin.p.x)} ${Y(n.p.y + pin.p.y)})`}><ellipse cx={X(n.p.x + pin.p.x)} cy={Y(n.p.y + pin.p.y)} rx={2.2 * k} ry={4.4 * k} fill="var(--sheet)" stroke="var(--ink)" stroke-width="2.4" /></g>}
              </g>
            ))}
            {screws.map((c, i) => (
              <g data-f={c.through || undefined}>
                <circle cx={X(n.p.x + c.x)} cy={Y(n.p.y + c.y)} r={c.r * k} fill="var(--ink)" />
                {only === n.n ? <text x={X(n.p.x + c.x)} y={Y(n.p.y + c.y) + Math.min(5, 0.54 * c.r * k)} text-anchor="middle" font-size={Math.min(14, 1.5 * c.r * k)} font-weight="700" class="onink" transform={about(n.turn, X(n.p.x + c.x), Y(n.p.y + c.y))}>{i + 1}</text>
                  : <path d={`M${X(n.p.x + c.x) - 5} ${Y(n.p.y + c.y)}h10m-5 -5v10`} stroke="var(--on-ink)" stroke-width="1.4" />}
              </g>
            ))}
            </g>
            <text x={X(n.p.x)} y={Y(n.p.y) + Math.min(6, 0.054 * py * k)} text-anchor="middle" font-weight="700" font-size={Math.min(18, 0.16 * py * k)}>{n.n}</text>
            {bad === n.n && <path d={`M${X(n.p.x + px / 2) - 34} ${Y(n.p.y + py / 2)}h34v34z`} fill="url(#outside)" stroke="var(--warm)" stroke-width="1.6" data-f={HURT} />}
          </g>
        ))}
        {/* by keyboard and to a screen reader: the features of one nest, as keys of their own beside it */}
        {!still && features && straight && (
          <g role="group" aria-label={t("feature.group", { n: straight.n })} pointer-events="none">
            {[profile, top_, ...seen.map((f) => f.id)].filter((id, i, all) => id && all.indexOf(id) === i).map((id) => (
              <g {...featureKey(desk, features, id, op)}>
                {id === profile || id === top_ ? <rect class="edge" x={X(straight.p.x - px / 2)} y={Y(straight.p.y + py / 2)} width={px * k} height={py * k} rx={corner * k} />
                  : seen.filter((f) => f.id === id).map((f) => (f.w && f.h ? <rect class="edge" x={X(straight.p.x + f.p.x - f.w / 2)} y={Y(straight.p.y + f.p.y + f.h / 2)} width={f.w * k} height={f.h * k} />
                    : <circle class="edge" cx={X(straight.p.x + f.p.x)} cy={Y(straight.p.y + f.p.y)} r={Math.max(4, f.r * k * (f.kind === "face" ? 0.8 : 1))} />))}
              </g>
            ))}
          </g>
        )}
        {!still && lit && [profile, top_, ...seen.map((f) => f.id)].includes(lit) && (
          <g>
            <text x={left + wide + 26} y={top + 78} font-size="14" font-weight="700" class="hot n">{lit}</text>
            <text class="aside" x={left + wide + 26} y={top + 95} font-size="13">{titleOf(desk, lit).slice(lit.length + 1)}</text>
          </g>
        )}
        {/* beside the nests, not in them: one thing to press must not hold another */}
        {!still && straight && pins.map((pin) => {
          const name = t("draw.pin", { kind: t(pin.kind === "round" ? "draw.round" : "draw.relieved"), id: pin.id });
          return pin.key && (
            <g {...grip(`p${pin.kind}`, name, pin.p, place({ key: pin.key, index: pin.index, p: pin.p, n: 0, turn: 0 }, name), undefined, tapped)} data-f={pin.id}>
              <circle class="edge" cx={X(straight.p.x + pin.p.x)} cy={Y(straight.p.y + pin.p.y)} r={6 * k} fill="transparent" stroke="none" />
            </g>
          );
        })}
        {!zoom && anchors.map((a) => (
          <g {...grip(`a${a.n}`, t("draw.anchor", { n: a.n }), a.p, place(a, t("draw.anchor", { n: a.n })), undefined, tapped)}>
            <circle class="edge" cx={X(a.p.x)} cy={Y(a.p.y)} r={20 * k} fill="none" stroke="var(--soft)" stroke-dasharray="5 4" />
            {!still && <circle class="ring" cx={X(a.p.x)} cy={Y(a.p.y)} r={20 * k} fill="none" stroke="transparent" stroke-width="9" />}
          </g>
        ))}
        {!only && <g {...(still ? {} : { class: "grip", tabindex: 0, role: "button" as const, "aria-label": t("draw.zero", { where: zero }), onClick: openZero, onKeyDown: (e: KeyboardEvent) => (e.key === "Enter" || e.key === " ") && (e.preventDefault(), openZero()) })}><title>{t("draw.zero", { where: zero })}</title><path d={`M${X(0) - 15} ${Y(0)}h30m-15 -15v30`} stroke="var(--warm)" stroke-width="1.8" /><circle cx={X(0)} cy={Y(0)} r="6.5" fill="none" stroke="var(--warm)" stroke-width="1.8" /></g>}
        {bad !== undefined && hurts && nests[bad - 1] && (
          <g>
            <path d={`M${X(nests[bad - 1].p.x + px / 2)} ${Y(nests[bad - 1].p.y + py / 2) + 8}L${left + wide + 14} ${top + 22}h8`} fill="none" stroke="var(--warm)" stroke-width="1.4" />
            <text x={left + wide + 26} y={top + 26} font-size="14" font-weight="700" class="hot n">{t(`state.${hurts.state}`)}: {hurts.tool ?? ""}</text>
            <text class="aside" x={left + wide + 26} y={top + 44} font-size="13">{s(hurts.value_text)} ({s(hurts.limit?.text)})</text>
          </g>
        )}
        {/* dimensions */}
        {!zoom && <path d={`M${X(-plateX / 2)} ${top + high + 22}h${wide}m0 -6v12m${-wide} 0v-12`} stroke="var(--ink)" fill="none" />}
        <rect x={X(0) - 42} y={top + high + 11} width="84" height="22" fill="var(--paper)" /><text class="n" x={X(0)} y={top + high + 27} text-anchor="middle" font-size="14.5">{said(plateX)}</text>
        <path d={`M34 ${top}v${high}m-6 0h12m0 ${-high}h-12`} stroke="var(--ink)" fill="none" />
        <rect x="22" y={top + high / 2 - 40} width="24" height="80" fill="var(--paper)" /><text class="n" x="39" y={top + high / 2} text-anchor="middle" font-size="14.5" transform={`rotate(-90 39 ${top + high / 2})`}>{said(plateY)}</text>
        {/* edges that can be pulled */}
        {!still && <g {...grip("ex", t("draw.edge", { value: said(plateX) }), { x: plateX / 2, y: 0 }, (to) => plate(Math.max(10, to.x * 2), plateY, plateZ), "x")}><rect class="edge" x={X(plateX / 2) - 5} y={Y(18)} width="10" height={36 * k} rx="4" fill="var(--sheet)" stroke="var(--warm)" stroke-width="1.6" /></g>}
        {!still && <g {...grip("ey", t("draw.edge", { value: said(plateY) }), { x: 0, y: plateY / 2 }, (to) => plate(plateX, Math.max(10, to.y * 2), plateZ), "y")}><rect class="edge" x={X(-18)} y={Y(plateY / 2) - 5} width={36 * k} height="10" rx="4" fill="var(--sheet)" stroke="var(--warm)" stroke-width="1.6" /></g>}
        {/* from the side, same scale */}
        {[...new Set(nests.map((n) => n.p.x))].map((x) => <rect x={X(x - px / 2)} y={sideTop - pz * k} width={px * k} height={pz * k} fill="url(#skin)" stroke="var(--soft)" />)}
        <rect x={X(-plateX / 2)} y={sideTop} width={wide} height={plateZ * k} fill="var(--sheet)" stroke="var(--ink)" stroke-width="2" />
        {wasZ !== plateZ && <rect class="ghost" x={X(-plateX / 2)} y={sideTop} width={wide} height={wasZ * k} fill="none" stroke="var(--ink)" stroke-dasharray="6 4" />}
        {!still && (
          <g {...grip("ez", t("draw.thick", { value: said(plateZ) }), { x: 0, y: -plateZ }, (to) => plate(plateX, plateY, Math.max(1, -to.y)), "y")}>
            <rect class="edge" x={left + wide + 6} y={sideTop - 8} width="24" height={plateZ * k + 16} fill="transparent" stroke="none" />
            <path d={`M${left + wide + 18} ${sideTop}v${plateZ * k}`} stroke="var(--warm)" stroke-width="2" />
            <path d={`M${left + wide + 11} ${sideTop + 9}l7 -11 7 11zM${left + wide + 11} ${sideTop + plateZ * k - 9}l7 11 7 -11z`} fill="var(--warm)" />
          </g>
        )}
        <text class="n" x={left + wide + 36} y={sideTop + (plateZ * k) / 2 + 1} font-weight="700" font-size="15">{said(plateZ)}</text>
        {!still && <text class="aside" x={left + wide + 36} y={sideTop + (plateZ * k) / 2 + 18} font-size="13" opacity=".8">{t("draw.pull")}</text>}
        {over?.(X, Y, k, (z) => sideTop - z * k)}
      </svg>
      {!still && <figcaption class="noprint">{t("draw.hint", units === "inch" ? { by: "0.05 in", small: "0.005 in" } : { by: "1 mm", small: "0.1 mm" })}</figcaption>}
    </figure>
  );
}

/** The feature under a finger, also where a number, a pin or an anchor is drawn over it. */
const under = (e: PointerEvent) => document.elementsFromPoint(e.clientX, e.clientY).map((x) => x.closest("[data-f]")).find(Boolean)?.getAttribute("data-f") ?? "";

/** One feature as a line; what it encloses can be pressed too, unless that is another one's (`hollow`). */
function Shape({ f, x, y, k, press, hollow, dashed, ...line }: { f: Seen; x: number; y: number; k: number; press: boolean; hollow: boolean; dashed: boolean; stroke: string; "stroke-width": number }) {
  const same = { fill: press && !hollow ? "transparent" : "none", ...(press && { "data-f": f.id }), "stroke-dasharray": dashed ? "3 2.5" : undefined, ...line };
  const drawn = f.w && f.h ? <rect x={x - (f.w / 2) * k} y={y - (f.h / 2) * k} width={f.w * k} height={f.h * k} rx={6 * k} {...same} /> : <circle cx={x} cy={y} r={f.r * k} {...same} />;
  // a wall seen on end is a thin line: the finger gets a wider one
  const wall = press && !(f.w && f.h) && <circle data-f={f.id} cx={x} cy={y} r={f.r * k} fill="none" stroke="transparent" stroke-width="5" pointer-events="stroke" />;
  return <>{drawn}{wall}</>;
}
