import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import { useDesk } from "../desk_state";
import { list, table, word } from "../plan";
import { newId, onWaiting, send, waiting } from "../queue";
import { placeOf } from "../store";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { Pallet } from "../parts/pallet";
import { Problems } from "../parts/problems";
import type { Problem } from "../model";

interface Todo { what: string; value: string; key: string; caution: string }
interface Measure { id: string; what: string; limit: string; lower: number | null; upper: number | null; kind: string }
interface FloorOp { id: string; name: string; machine: string; nests: { id: string; at: number[] }[]; do: Todo[]; measure: Measure[]; zero?: string }
interface Floor { plan: string; hash: string; units: System; operations: FloorOp[]; changed: { key?: string; name?: string; from?: string; to?: string; why?: string; text?: string }[] | string[]; entries: unknown[]; hone?: string[] }

const TABS = ["load", "torque", "zeros", "measure", "changed"] as const;
type Tab = (typeof TABS)[number];
const tabOf = (d: Todo): Tab => (/tight|torque|screw|wrench/i.test(d.what + d.value) ? "torque" : /zero|offset|shift|G5\d/i.test(d.what) ? "zeros" : "load");

/** The next action for wet gloves: one nest, big type, few keys. */
export function FloorView({ path, units: wanted }: { path: string; units: System | "plan" }) {
  const [floor, setFloor] = useState<Floor | null>(null);
  const [problems, setProblems] = useState<Problem[]>([]);
  const [op, setOp] = useState(0);
  const [nest, setNest] = useState(0);
  const [tab, setTab] = useState<Tab>("load");
  const [skipped, setSkipped] = useState<string[]>([]);
  const [queued, setQueued] = useState(waiting());
  const desk = useDesk(path, false);
  useEffect(() => {
    get<Floor>("floor", { path }).then((f) => {
      setFloor(f);
      setOp(Math.max(0, f.operations.findIndex((o) => o.nests.length > 1)));
    }).catch((e) => setProblems(e.problems?.length ? e.problems : [{ message: String(e.message ?? e) }]));
  }, [path, desk.file?.hash]);
  useEffect(() => onWaiting(setQueued) as () => void, []);
  if (!floor) return <main id="content"><Problems problems={problems} />{!problems.length && <h1 role="status">{t("loading")}</h1>}</main>;
  const from = floor.units ?? "metric", units = wanted === "plan" ? from : wanted;
  const s = (x: string | undefined | null) => say(x, from, units);
  const o = floor.operations[op];
  if (!o) return <main id="content"><p>{t("floor.nothing")}</p></main>;
  const n = o.nests[nest];
  const todo = (which: Tab) => o.do.filter((d) => tabOf(d) === which);
  const cautions = [...new Set(o.do.map((d) => d.caution).filter(Boolean))];
  const pallet = desk.plan && table(desk.plan.root, "pallet");
  const isPallet = desk.plan && word(list(desk.plan.root, "operation").find((x) => word(x, "id") === o.id), "kind") === "pallet";
  const go = (by: number) => {
    const count = Math.max(1, o.nests.length);
    setNest((nest + by + count) % count);
    setTab("load");
  };
  const changes = floor.changed as any[];
  return (
    <main id="content" class="floor">
      <p class="soft"><span class="n">{o.id}</span> · {o.name}{o.machine ? ` · ${o.machine}` : ""} · <span class="n">{t("floor.current", { hash: floor.hash.slice(0, 8) })}</span></p>
      <div class="tabs" role="group" aria-label={t("col.op")}>
        {floor.operations.map((x, i) => <button aria-pressed={i === op} class={i === op ? "go" : ""} onClick={() => { setOp(i); setNest(0); setTab("load"); }}>{x.id}</button>)}
      </div>
      <h1>{n ? t("draw.nest", { n: n.id })[0].toUpperCase() + t("draw.nest", { n: n.id }).slice(1) : o.name}</h1>
      {changes.slice(0, 2).map((c) => <p class="warn">{s(typeof c === "string" ? c : (c.text ?? `${c.name ?? c.key}: ${c.from} → ${c.to}${c.why ? `. ${c.why}` : ""}`))}</p>)}
      {queued > 0 && <p class="warn" role="status">{t("floor.waiting", { n: queued })}</p>}
      <div class="tabs" role="tablist" aria-label={t("floor.show")}>
        {TABS.map((x) => <button role="tab" id={`tab-${x}`} aria-controls="floor-card" aria-selected={tab === x} onClick={() => setTab(x)}>{t(`floor.${x}` as TextKey)}</button>)}
      </div>
      <div id="floor-card" role="tabpanel" aria-labelledby={`tab-${tab}`}>
        {tab === "load" && (
          <div class={isPallet ? "card" : ""}>
            {isPallet && pallet && desk.plan ? <div><Pallet desk={desk} units={units} from={from} still zoom only={nest + 1} /><Pallet desk={desk} units={units} from={from} still only={nest + 1} /></div> : null}
            <div>
              <ol class="steps">{[...todo("load"), ...todo("torque"), ...todo("zeros")].map((d) => <li>{d.what}{d.value && <>: <b class="n">{s(d.value)}</b></>}</li>)}</ol>
              {!o.do.length && <p>{t("floor.nothing")}</p>}
            </div>
          </div>
        )}
        {(tab === "torque" || tab === "zeros") && (
          todo(tab).length ? <ul class="facts">{todo(tab).map((d) => <li><span>{d.what}</span><b>{s(d.value)}</b></li>)}</ul> : <p>{t("floor.nothing")}</p>
        )}
        {tab === "measure" && <MeasureCard key={`${o.id}${nest}`} path={path} op={o} nest={n?.id ?? ""} s={s} />}
        {tab === "changed" && (changes.length ? <ul class="facts">{changes.map((c) => <li>{s(typeof c === "string" ? c : (c.text ?? `${c.name ?? c.key}: ${c.from} → ${c.to}. ${c.why ?? ""}`))}</li>)}</ul> : <p>{t("floor.nothing")}</p>)}
      </div>
      {cautions.map((c) => <p class="warn">{c}</p>)}
      {skipped.length > 0 && <p role="status">{t("floor.skipped", { nest: skipped.join(", ") })}</p>}
      <div class="keys">
        <button onClick={() => go(-1)}>{t("floor.back")}</button>
        <button disabled={o.nests.length < 2} onClick={() => { if (n) setSkipped([...new Set([...skipped, `${o.id} ${n.id}`])]); go(1); }}>{t("floor.skip")}</button>
        <button onClick={() => setTab("measure")}>{t("floor.measured")}</button>
        <button class="go" onClick={() => go(1)}>{t("floor.next")}</button>
      </div>
      <p class="noprint"><button onClick={() => { setTab("load"); requestAnimationFrame(() => print()); }}>{t("floor.print")}</button> <a href={placeOf("desk", path)}>{t("nav.desk")}</a></p>
      <p class="soft small">{t("floor.heed")}</p>
    </main>
  );
}

/** What is already known of a reading: the digits both limits share; the rest is typed, five at most. */
export function givenDigits(m: Measure): { given: string; free: number; unit: string; factor: number } {
  const unit = /(µm|mm|in|deg|°|N·m)\s*$/.exec(m.limit)?.[1] ?? (/\bin\b/.test(m.limit) ? "in" : /µm/.test(m.limit) ? "µm" : "mm");
  const factor = unit === "in" ? 1 / 0.0254 : unit === "µm" ? 1e6 : unit === "mm" ? 1e3 : 1;
  const places = unit === "in" ? 5 : unit === "µm" ? 1 : 4;
  const middle = ((m.lower ?? m.upper ?? 0) + (m.upper ?? m.lower ?? 0)) / 2;
  const text = (middle * factor).toFixed(places);
  const dot = text.indexOf(".");
  // with only one limit nothing is shared: everything is free within five digits
  if (m.lower === null || m.upper === null || m.lower === undefined || m.upper === undefined || m.lower <= 0) return { given: "", free: 5, unit, factor };
  const shared = text.length - dot - 1 <= 5 ? text.slice(0, dot + 1) : text.slice(0, dot + 2);
  return { given: shared, free: text.length - shared.length, unit, factor };
}

interface Card { path: string; op: FloorOp; nest: string; s: (x: string | undefined | null) => string }

function MeasureCard(card: Card) {
  const [m, setM] = useState<Measure | null>(null);
  const [said, setSaid] = useState("");
  if (!card.op.measure.length) return <p>{t("floor.nothing")}</p>;
  if (m) return <Digits {...card} m={m} done={(words) => { setSaid(words); setM(null); }} />;
  return (
    <div>
      <p>{t("floor.pick")}</p>
      {said && <p class="warn" role="status">{said}</p>}
      <div class="picks">{card.op.measure.map((x) => <button onClick={() => setM(x)}>{x.what}<br /><span class="n soft">{card.s(x.limit)}</span></button>)}</div>
    </div>
  );
}

/** The last digits of one reading, five at most, said back in words before they are sent. */
function Digits({ path, op, nest, s, m, done }: Card & { m: Measure; done: (said: string) => void }) {
  const form = givenDigits(m);
  const [digits, setDigits] = useState("");
  const [given, setGiven] = useState(form.given);
  const [sure, setSure] = useState(false);
  const [who, setWho] = useState("");
  const press = (d: string) => digits.length < 5 && !(d === "." && (given + digits).includes(".")) && setDigits(digits + d);
  const rub = () => setDigits(digits.slice(0, -1));
  useEffect(() => {
    const on = (e: KeyboardEvent) => {
      if (sure || (e.target as Element).tagName === "INPUT") return;
      if (/^[\d.]$/.test(e.key)) press(e.key);
      if (e.key === "Backspace") rub();
    };
    addEventListener("keydown", on);
    return () => removeEventListener("keydown", on);
  });
  const value = Number(given + digits);
  const text = `${given}${digits} ${form.unit}`;
  const si = value / form.factor;
  const words = m.upper == null && m.lower == null ? "floor.nolimits" : m.upper != null && si > m.upper + 1e-12 ? "floor.above" : m.lower != null && si < m.lower - 1e-12 ? "floor.below" : "floor.inside";
  const step = (by: number) => setGiven(`${Number(given.replace(".", "")) + by}.`);
  const sendIt = async () => {
    try {
      const all = await send({ id: newId(), path, operation: op.id, nest, what: m.id, value: text, who, at: new Date().toISOString() });
      done(all ? t("floor.sent", { value: `${m.what} ${text}` }) : t("floor.queued", { n: waiting() }));
    } catch (e) {
      done((e as Error).message);
    }
  };
  return (
    <div>
      <p><b>{m.what}</b> <span class="n soft">{s(m.limit)}</span></p>
      <p class="entry" role="status"><span class="given">{given}</span><i>{digits || "_".repeat(form.free)}</i> {form.unit}</p>
      {!sure ? (
        <div class="measuring">
          <div>
            <p class="soft">{t("floor.digits.hint", { form: `${form.given}${"_".repeat(form.free)}` })}</p>
            {given && <p>{t("floor.whole")} <button aria-label={`${t("floor.whole")} −1`} onClick={() => step(-1)}>−1</button> <button aria-label={`${t("floor.whole")} +1`} onClick={() => step(1)}>+1</button></p>}
            <div class="keys"><button onClick={() => done("")}>{t("floor.back")}</button><button class="go" disabled={!digits || !Number.isFinite(value)} onClick={() => setSure(true)}>{t("floor.check")}</button></div>
          </div>
          <div class="pad">
            {["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"].map((d) => <button onClick={() => press(d)}>{d}</button>)}
            <button aria-label={t("floor.delete")} onClick={rub}>⌫</button>
          </div>
        </div>
      ) : (
        <>
          <p class="warn sure">{t("floor.sure", { value: `${m.what} ${text}`, what: t(words, { limit: s(m.limit) }) })}</p>
          <label class="small">{t("floor.who")} <input value={who} maxLength={5} onInput={(e) => setWho(e.currentTarget.value)} /></label>
          <div class="keys"><button onClick={() => setSure(false)}>{t("floor.no")}</button><button class="go" onClick={() => void sendIt()}>{t("floor.yes")}</button></div>
        </>
      )}
    </div>
  );
}
