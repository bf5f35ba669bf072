import { ThreeDoor } from "./three_door";
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { address, get } from "../api";
import { makes } from "../route";
import { asked, type Desk } from "../desk_state";
import { leaf, list, millimetres, table, word, type Table } from "../plan";
import { stateRank, type Finding } from "../model";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { bare, featureKey, FeatureFindings, seenFromAbove, type Features } from "./feature";
import { FlatDrawing, idsOf, onPaper, paperOf, useFlat, Without } from "./flat";
import { Mark } from "./state";
import { Pallet } from "./pallet";
import { ProgramDoor, Track, TrackAlone } from "./program";
import type { Run } from "../run";
import { Value } from "./value";

interface Props { desk: Desk; op: Table; findings: Finding[]; units: System; from: System; cleanness: "raw" | "half" | "done"; pick: (id: string) => void; alight?: string; features: Features }

/** One operation in route order: a sentence whose values change in place, a drawing to scale, what hurts there. */
export function Strip({ desk, op, findings, units, from, cleanness, pick, alight, features }: Props) {
  const id = word(op, "id");
  const hurts = findings.filter((f) => f.state !== "inside").sort((a, b) => stateRank(a.state) - stateRank(b.state)).slice(0, 5);
  const s = (x: string) => say(x, from, units);
  const anchor = `op-${id}`;
  const [over, setOver] = useState(false);
  return (
    <section class={`strip${over ? " over" : ""}`} id={anchor} aria-label={`${id}: ${word(op, "name")}`}
      onDragOver={(e) => { if (e.dataTransfer?.types.includes(FEATURE)) { e.preventDefault(); setOver(true); } }} onDragLeave={() => setOver(false)}
      onDrop={(e) => { const f = e.dataTransfer?.getData(FEATURE); setOver(false); if (f) { e.preventDefault(); desk.moveFeature(f, id); } }}>
      <div class="stamp"><span class={`line ${cleanness}`} /><a href={location.hash} onClick={(e) => { e.preventDefault(); document.getElementById(anchor)?.scrollIntoView(); }}>{id}</a></div>
      <div>
        <h2>{word(op, "name")[0]?.toUpperCase() + word(op, "name").slice(1)}</h2>
        <div class="sentence"><Sentence desk={desk} op={op} units={units} from={from} findings={findings} /></div>
        <Makes desk={desk} op={op} />
        {word(op, "note") && <p class="soft small">{s(word(op, "note"))}</p>}
        <h3 class="soft small">{t("desk.strip.findings")}</h3>
        {hurts.length ? (
          <ul class="hurts">
            {hurts.map((f) => <li><button onClick={() => pick(f.id)}><Mark state={f.state} /><span>{s(f.title)}: <span class="n">{s(f.value_text || t("state.open"))}</span></span></button></li>)}
          </ul>
        ) : <p class="soft small">{t("desk.strip.quiet")}</p>}
      </div>
      <div class="draw"><Drawing desk={desk} op={op} units={units} from={from} hurts={hurts} pick={pick} alight={alight} features={features} /></div>
    </section>
  );
}

const FEATURE = "text/x-feature";

/** The features that an operation makes: each can be dragged to another strip, or sent there from a list. */
function Makes({ desk, op }: { desk: Desk; op: Table }) {
  const [going, setGoing] = useState("");
  const own = word(op, "id"), all = makes(op, desk.moves), rows = list(desk.plan!.root, "feature");
  const others = list(desk.plan!.root, "operation").map((o) => word(o, "id")).filter((o) => o !== own);
  if (!all.length) return null;
  const name = (f: string) => word(rows.find((r) => word(r, "id") === f.split(".")[0]), "name");
  return (
    <p class="makes"><span class="soft small">{t("say.makes")}</span>{" "}
      {all.map((f) => (going === f.id ? (
        <select class="val" aria-label={t("route.move", { feature: f.id, name: name(f.id) })} ref={(e) => e?.focus()} onBlur={() => setGoing("")} onKeyDown={(e) => e.key === "Escape" && setGoing("")}
          onChange={(e) => { setGoing(""); if (e.currentTarget.value) desk.moveFeature(f.id, e.currentTarget.value); }}>
          <option value="">{t("route.stays", { feature: f.id, op: own })}</option>{others.map((o) => <option value={o}>{t("route.to", { op: o })}</option>)}
        </select>
      ) : (
        <button class={`feat${f.moved ? " changed" : ""}`} title={name(f.id)} aria-label={t("route.chip", { feature: f.id, name: name(f.id), op: own })} draggable
          onDragStart={(e) => e.dataTransfer?.setData(FEATURE, f.id)} onClick={() => setGoing(f.id)}>{f.id}</button>
      )))}
    </p>
  );
}

/** A sentence of the table with values of the plan set in where it says {name}. */
function withNodes(key: TextKey, nodes: Record<string, ComponentChildren>): ComponentChildren[] {
  return t(key).split(/\{(\w+)\}/).map((piece, i) => (i % 2 ? nodes[piece] : piece));
}

function Sentence({ desk, op, units, from, findings }: Omit<Props, "cleanness" | "pick" | "features">) {
  const root = desk.plan!.root;
  const hurt = (q: string) => findings.some((f) => f.state === "outside" && f.question.startsWith(q));
  // a call, not a component of its own: it would be a new one at each drawing, and what is being typed would be lost
  const V = (p: { of?: Table; k: string; name: TextKey; hurt?: boolean }) => <Value desk={desk} leaf={leaf(p.of ?? op, p.k)} name={t(p.name)} units={units} from={from} hurt={p.hurt} />;
  const has = (of: Table | undefined, k: string) => !!leaf(of, k);
  const bits: ComponentChildren[] = [];
  const add = (key: TextKey, nodes: Record<string, ComponentChildren>) => bits.push(...withNodes(key, nodes), " ");
  const pallet = table(root, "pallet");
  const clamp = list(op, "clamp")[0];
  if (word(op, "kind") === "pallet" && pallet) {
    const plate = table(pallet, "plate"), screw = list(pallet, "screw")[0], nests = list(pallet, "nest"), pins = list(pallet, "pin");
    add("say.nests", { at: nests.map((nest, i) => <>{i > 0 && "; "}{V({ of: nest, k: "at", name: "name.nests" })}</>), material: V({ of: plate, k: "material", name: "name.material" }), size: V({ of: plate, k: "size", name: "name.plate" }) });
    for (const pin of pins)
      add(word(pin, "kind") === "round" ? "say.round" : "say.relieved", {
        size: has(pin, "diameter") ? V({ of: pin, k: "diameter", name: "name.pin" }) : V({ of: pin, k: "land", name: "name.land" }), height: V({ of: pin, k: "height", name: "name.height" }),
      });
    if (screw) add("say.screws", { thread: V({ of: screw, k: "thread", name: "name.thread" }), length: V({ of: screw, k: "length", name: "name.length" }), torque: V({ of: screw, k: "torque", name: "name.torque", hurt: hurt("holds") }), lubrication: V({ of: screw, k: "lubrication", name: "name.lubrication" }) });
    if (has(op, "zero")) add("say.zero", { zero: V({ k: "zero", name: "name.zero" }) });
    if (has(pallet, "sets")) add("say.sets", { table: V({ of: pallet, k: "on_table", name: "name.table" }), sets: V({ of: pallet, k: "sets", name: "name.sets" }) });
  } else {
    const force = clamp && has(clamp, "force") && V({ of: clamp, k: "force", name: "name.force", hurt: hurt("holds") });
    const parts = has(op, "parts") && V({ k: "parts", name: "name.parts", hurt: hurt("loose") });
    if (parts && force) add("say.holdat", { parts, force });
    else if (parts) add("say.hold", { parts });
    else if (force) add("say.heldat", { force });
    if (has(op, "zero")) add("say.zero", { zero: V({ k: "zero", name: "name.zero" }) });
    if (has(op, "shift")) add("say.shift", { shift: V({ k: "shift", name: "name.shift" }) });
    if (has(op, "lot")) add("say.lot", { lot: V({ k: "lot", name: "name.lot" }) });
    if (has(op, "time")) add("say.time", { time: V({ k: "time", name: "name.time" }) });
    if (has(op, "price")) add("say.price", { price: V({ k: "price", name: "name.price" }) });
    if (has(op, "size_scatter")) add("say.scatter", { scatter: V({ k: "size_scatter", name: "name.scatter" }) });
  }
  const cuts = list(op, "cut").filter((c) => has(c, "speed"));
  return (
    <>
      <p>{bits}</p>
      {cuts.length > 0 && (
        <details>
          <summary class="soft small">{t("say.cuts", { n: cuts.length })}</summary>
          <table class="small"><tbody>
            {cuts.map((c) => <tr><th scope="row" class="n">{word(c, "tool")}</th><td>{word(c, "kind")} {word(c, "features")}</td><td>{V({ of: c, k: "speed", name: "name.speed" })}</td><td>{V({ of: c, k: "feed", name: "name.feed" })}</td><td>{V({ of: c, k: "depth", name: "name.depth" })}</td></tr>)}
          </tbody></table>
        </details>
      )}
    </>
  );
}

interface Drawn { desk: Desk; op: Table; units: System; from: System; hurts: Finding[]; pick: (id: string) => void; alight?: string; features: Features }

/** The drawing of an operation, flat or in space, and below it its program with the tool on the drawing. */
function Drawing(p: Drawn) {
  const [three, setThree] = useState(false);
  const [run, setRun] = useState<Run | null>(null);
  const [time, setTime] = useState(0);
  const [of, setOf] = useState("");
  const tried = p.desk.changes.length ? JSON.stringify(asked(p.desk.changes)) : "";
  useEffect(() => setTime(0), [run]);
  const cuts = list(p.op, "cut").length > 0;
  return (
    <>
      {three ? <ThreeDoor desk={p.desk} op={word(p.op, "id")} units={p.units} from={p.from} features={p.features} pick={p.pick} back={() => setThree(false)} run={run} time={time} />
        : <Flat {...p} run={run} time={time} old={of !== tried} deeper={<>
            {p.features.now && p.features.at === word(p.op, "id") && <FeatureFindings desk={p.desk} id={p.features.now} units={p.units} from={p.from} pick={p.pick} only={p.features.only} />}
            <p class="noprint"><button onClick={() => setThree(true)}>{t("desk.three")}</button></p></>} />}
      {cuts && <ProgramDoor path={p.desk.file!.path} hash={p.desk.file!.hash} op={word(p.op, "id")} units={p.units} from={p.from} run={run} setRun={setRun} tried={tried} of={of} setOf={setOf} time={time} setTime={setTime} />}
    </>
  );
}

function Flat({ desk, op, units, from, hurts, pick, alight, features, run, time, old, deeper }: Drawn & { run: Run | null; time: number; old: boolean; deeper: ComponentChildren }) {
  const kind = word(op, "kind"), s = (x: string) => say(x, from, units);
  const [px = 100, py = 60, pz = 20] = millimetres(word(table(desk.plan!.root, "part"), "size"));
  if (kind === "pallet") return <><Pallet desk={desk} units={units} from={from} hurts={hurts.find((f) => f.nest)} onPick={pick} alight={alight} features={features} op={word(op, "id")} over={run ? (X, Y, k, Z) => <Track run={run} time={time} X={X} Y={Y} k={k} Z={Z} old={old} /> : undefined} />{deeper}</>;
  if (run) return <><TrackAlone run={run} time={time} old={old} part={/[xX]$/.test(word(op, "up")) ? [pz, py] : /[yY]$/.test(word(op, "up")) ? [px, pz] : [px, py]} />{deeper}</>;
  const clamp = list(op, "clamp")[0];
  const made = makes(op, desk.moves).map((f) => bare(f.id)), own = word(op, "id"), ink = (id: string) => (features.now === id ? "var(--warm)" : "var(--soft)");
  const n = Math.min(12, Number(desk.text(leaf(op, "parts")?.key ?? "", word(op, "parts"))) || 1);
  if (kind === "vise gang" || kind === "jaw carrier") {
    const series = kind === "vise gang";
    const w = series ? pz : px, h = series ? py : py, k = 400 / (n * w + 60), tall = h * k;
    const force = clamp ? s(desk.text(leaf(clamp, "force")?.key ?? "", word(clamp, "force"))) : "";
    const wobble = [0, 5, -3, 7, 2, -4, 4, 0, 6, -2, 3, 1];
    return (
      <figure>
        <svg viewBox={`0 0 600 ${tall + 50}`} width="600" role={made.length ? "group" : "img"} aria-label={t(series ? "draw.series" : "draw.jaw", { n })}>
          {series ? (
            <>
              <rect x="10" y="8" width="22" height={tall + 16} fill="var(--ink)" />
              {Array.from({ length: n }, (_, i) => <rect x={32 + i * w * k} y={16 - wobble[i] * 0.8} width={w * k} height={tall} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.4" />)}
              <rect x={32 + n * w * k} y="8" width="22" height={tall + 16} fill="var(--ink)" />
              {made[0] && <g {...featureKey(desk, features, made[0], own)}>{Array.from({ length: n }, (_, i) => <g><path d={`M${34 + i * w * k} ${16 - wobble[i] * 0.8}h${w * k - 4}`} stroke={ink(made[0])} stroke-width={features.now === made[0] ? 5 : 3} /><path class="edge" d={`M${34 + i * w * k} ${16 - wobble[i] * 0.8}h${w * k - 4}`} stroke="transparent" stroke-width="14" /></g>)}</g>}
              <path d={`M${120 + n * w * k} ${tall / 2 + 14}H${66 + n * w * k}m14 -7l-14 7 14 7z`} fill="var(--ink)" stroke="var(--ink)" stroke-width="2" />
              <text class="n" x={128 + n * w * k} y={tall / 2 + 19} font-size="16">{force}</text>
            </>
          ) : (
            <>
              <rect x="10" y={tall + 18} width={n * (w + 14) * k + 10} height="18" fill="var(--ink)" />
              {Array.from({ length: n }, (_, i) => <g><rect x={18 + i * (w + 14) * k} y={17 - (i % 2) * 2} width={w * k} height={tall + (i % 2) * 2} rx={10 * k} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.4" /><text x={18 + i * (w + 14) * k + (w * k) / 2} y={tall / 2 + 22} text-anchor="middle" font-weight="700" font-size="17">{i + 1}</text></g>)}
              {seenFromAbove(desk.plan!.root).filter((f, i, all) => turned(op) && made.includes(f.id) && all.findIndex((x) => x.id === f.id) === i).map((f) => (
                <g {...featureKey(desk, features, f.id, own)}>
                  {seenFromAbove(desk.plan!.root).filter((x) => x.id === f.id).flatMap((x) => Array.from({ length: n }, (_, i) => {
                    const cx = 18 + i * (w + 14) * k + (w / 2 + x.p.x) * k, cy = 17 + tall / 2 - turned(op) * x.p.y * k, r = Math.max(x.r, Math.min(x.w ?? 0, x.h ?? 0) / 2) * k;
                    return <><circle cx={cx} cy={cy} r={r} fill="none" stroke={ink(x.id)} stroke-width={features.now === x.id ? 3 : 1.2} /><circle class="edge" cx={cx} cy={cy} r={Math.max(6, r)} fill="transparent" /></>;
                  }))}
                </g>
              ))}
              <rect x="10" y="4" width={n * (w + 14) * k + 10} height="12" fill="var(--sheet)" stroke="var(--ink)" stroke-width="1.8" />
              <path d={`M${n * (w + 14) * k + 82} 10h-52m14 -7l-14 7 14 7z`} fill="var(--ink)" stroke="var(--ink)" stroke-width="2" />
              <text class="n" x={n * (w + 14) * k + 88} y="16" font-size="16">{force}</text>
            </>
          )}
        </svg>
        <figcaption>{t(series ? "draw.series" : "draw.jaw", { n })}</figcaption>
        {(series || !turned(op)) && <Lying desk={desk} op={op} units={units} from={from} features={features} deeper={null} small />}
        {deeper}
      </figure>
    );
  }
  if (kind === "grind") {
    return (
      <figure>
        <svg viewBox="0 0 452 88" width="452" role={made.length ? "group" : "img"} aria-label={t("draw.grind")}>
          <path d="M10 30Q225 14 440 30V70Q225 54 10 70Z" fill="url(#skin)" stroke="var(--ink)" stroke-width="1.5" />
          {made[0] && (
            <g {...featureKey(desk, features, made[0], own)}>
              <path d={`M4 ${/^-/.test(word(op, "up")) ? 64 : 34}h444`} stroke="var(--warm)" stroke-width={features.now === made[0] ? 4 : 1.6} stroke-dasharray="8 5" />
              <path class="edge" d={`M4 ${/^-/.test(word(op, "up")) ? 64 : 34}h444`} stroke="transparent" stroke-width="18" />
            </g>
          )}
        </svg>
        <figcaption>{t("draw.grind")}; {t("draw.grind.line", { feature: word(op, "makes"), height: s(`${pz.toFixed(2)} mm`) })}</figcaption>
        {features.at === own && features.now && <FeatureFindings desk={desk} id={features.now} units={units} from={from} pick={pick} only={features.only} />}
      </figure>
    );
  }
  return <Lying desk={desk} op={op} units={units} from={from} features={features} deeper={deeper} />;
}

/** The part as it lies under the spindle, with what is made there; jaws on its sides: what holds against is solid, what moves has the arrow. */
function Lying({ desk, op, units, from, features, deeper, small }: { desk: Desk; op: Table; units: System; from: System; features: Features; deeper: ComponentChildren; /** beside another drawing: only where it has something to press, without jaws */ small?: boolean }) {
  const up = word(op, "up") || "+z", own = word(op, "id"), made = makes(op, desk.moves).map((f) => bare(f.id));
  const view = useFlat(desk.file!.path, desk.file?.hash, up);
  const seen = view ? idsOf(view).filter((id) => made.includes(id)) : [];
  if (!view || !made.length || (small && !seen.length)) return small ? null : <>{deeper}</>;
  const paper = paperOf(view.box, small ? 260 : 400, small ? 180 : 260, 40), { X, Y } = paper;
  const [x0, y0, x1, y1] = view.box, at = { x: (x0 + x1) / 2, y: (y0 + y1) / 2 };
  const clamp = list(op, "clamp")[0];
  const jaw = (on: string, moves: boolean) => {
    const d = onPaper(on, view);
    if (!d) return null;
    const x = d.x ? X(d.x > 0 ? x1 : x0) : X(at.x), y = d.y ? Y(d.y > 0 ? y1 : y0) : Y(at.y), out = { x: d.x, y: -d.y };
    const half = 0.36 * (d.x ? y1 - y0 : x1 - x0) * paper.k, a = { x: x + out.x * 17, y: y + out.y * 17 };
    return (
      <g>
        <rect x={out.x ? Math.min(x, x + out.x * 12) : x - half} y={out.y ? Math.min(y, y + out.y * 12) : y - half} width={out.x ? 12 : 2 * half} height={out.y ? 12 : 2 * half} fill={moves ? "var(--sheet)" : "var(--ink)"} stroke="var(--ink)" stroke-width="1.6" />
        {moves && <path d={`M${a.x + out.x * 18} ${a.y + out.y * 18}L${a.x} ${a.y}m${6 * (out.x || 1)} ${out.x ? -5 : 6 * out.y}L${a.x} ${a.y}L${a.x + (out.x ? 6 * out.x : -6)} ${a.y + (out.y ? 6 * out.y : 5)}`} fill="none" stroke="var(--ink)" stroke-width="2" />}
      </g>
    );
  };
  const force = clamp ? say(desk.text(leaf(clamp, "force")?.key ?? "", word(clamp, "force")), from, units) : "";
  const jaws = !small && <>{list(op, "locator").filter((l) => word(l, "kind") === "jaw").map((l) => jaw(word(l, "on"), false))}{clamp && jaw(word(clamp, "on"), true)}</>;
  return (
    <figure>
      <FlatDrawing view={view} paper={paper} label={t("draw.lies", { up })} can={(id) => seen.includes(id)} lit={(id) => features.now === id} press={(id) => features.press(id, own)} keys={(id) => featureKey(desk, features, id, own)} over={jaws} named />
      <figcaption>{t(seen.length ? "draw.lies" : "draw.lies.bare", { up })}{!small && force && `; ${force}`}<Without view={view} /></figcaption>
      {deeper}
    </figure>
  );
}

/** 1 where a part lies with its own top up, -1 where it is turned over about its long axis; 0: it stands otherwise. */
const turned = (op: Table) => ({ "+z": 1, "-z": -1 })[word(op, "up")] ?? 0;

/** The pictures that the study drew itself, of the plan as it stands in its file. */
export function Pictures({ path }: { path: string }) {
  const [names, set] = useState<string[] | null>(null);
  const open = () => names || get<{ drawings: string[] }>("drawings", { path }).then((a) => set(a.drawings)).catch(() => set([]));
  return (
    <details class="noprint" onToggle={(e) => (e.currentTarget as HTMLDetailsElement).open && open()}>
      <summary>{t("desk.pictures")}</summary>
      {names?.map((name) => <figure><img src={address("drawing", { path, name })} alt={t("draw.server", { name: name.replace(/\.svg$/, "") })} loading="lazy" /></figure>)}
    </details>
  );
}
