import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import { useDesk } from "../desk_state";
import { list, table, word } from "../plan";
import { newId, onWaiting, send, waiting } from "../queue";
import { placeOf, seen, useOnline } from "../store";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { Digits, MeasureCard, type Measure } from "../parts/digits";
import { LoadPicture, type Sign } from "../parts/load";
import { Pallet } from "../parts/pallet";
import { Problems } from "../parts/problems";
import { Mark } from "../parts/state";
import type { Problem, State } from "../model";

/** `where`: the place in words, `on`: the same as the plan names it. */
interface Todo { tab: string; what: string; where?: string; on?: string; value: string; key: string; caution: string; mark?: Sign }
interface Tighten { key: string; thread: string; through: string; lubrication: string; places: { n: number; at: number[] }[]; order: number[]; rounds: string[] }
export interface FloorOp {
  id: string; name: string; machine: string; nests: { id: string; at: number[] }[]; do: Todo[]; measure: Measure[];
  kind?: string; up?: string; parts?: number; tighten?: Tighten[]; on_table?: number; sets?: number;
}
interface Changed { key: string; name: string; from: string; to: string; why: string }
interface Floor { plan: string; hash: string; plan_hash?: string; units: System; operations: FloorOp[]; changed: Changed[]; compared?: boolean }
interface Reason { id: string; title: string; operation: string; before: State; after: State; was: string; is: string; limit: string; better: boolean }
interface Advised { finding: string; operation: string; feature: string; title: string; state: State; sentence: string; missing: string[] }
interface Hone extends Advised { to?: string; list: { part: string; size: string; what: string; hone: boolean }[] }
interface Offset extends Advised { tool: string; move: string }
interface Advice { hash: string; why: Record<string, Reason[]>; hone: Hone[]; offsets: Offset[] }

const TABS = ["load", "torque", "zeros", "measure", "hone", "changed"] as const;
type Tab = (typeof TABS)[number];
type Say = (x: string | undefined | null) => string;

/** The next action for wet gloves: one nest, big type, few keys. */
export function FloorView({ path, units: wanted, first }: { path: string; units: System | "plan"; first?: string }) {
  const online = useOnline();
  const [floor, setFloor] = useState<Floor | null>(null);
  const [advice, setAdvice] = useState<Advice | null>(null);
  const [problems, setProblems] = useState<Problem[]>([]);
  const [op, setOp] = useState(-1);
  const [place, setPlace] = useState(0);
  const [set, setSet] = useState(0);
  const [tab, setTab] = useState<Tab>("load");
  useEffect(() => { if (TABS.includes(first as Tab)) setTab(first as Tab); }, [first]);
  const [skipped, setSkipped] = useState<string[]>([]);
  const [queued, setQueued] = useState(waiting());
  const [since, setSince] = useState(() => seen(path));
  const desk = useDesk(path, false);
  useEffect(() => {
    get<Floor>("floor", { path, since: since || undefined }).then((f) => {
      setFloor(f);
      setOp((now) => (now >= 0 ? now : Math.max(0, f.operations.findIndex((o) => o.nests.length > 1))));
    }).catch((e) => setProblems(e.problems?.length ? e.problems : [{ message: String(e.message ?? e) }]));
    // what needs the study comes when it is ready; the load sheet never waits for it
    get<Advice>("floor/advice", { path, since: since || undefined }).then(setAdvice).catch(() => setAdvice(null));
  }, [path, desk.file?.hash, since]);
  useEffect(() => onWaiting(setQueued) as () => void, []);
  if (!floor || op < 0) return <main id="content"><Problems problems={problems} />{!problems.length && <h1 role="status">{t("loading")}</h1>}</main>;
  const from = floor.units ?? "metric", units = wanted === "plan" ? from : wanted;
  const s: Say = (x) => say(x, from, units, true);
  const o = floor.operations[op];
  if (!o) return <main id="content"><p>{t("floor.nothing")}</p></main>;
  // every nest of every pallet on the table, one after the other
  const pallets = Math.max(1, o.on_table ?? 1), sets = Math.max(1, o.sets ?? 1), count = Math.max(1, o.nests.length);
  const nest = place % count, pallet = set * pallets + Math.floor(place / count) + 1;
  const n = o.nests[nest];
  const many = pallets * sets > 1 && !!n;
  const where = !n ? "" : many ? `${pallet}.${n.id}` : n.id;
  const title = !n ? o.name : many ? t("floor.nest", { pallet, nest: n.id }) : capital(t("draw.nest", { n: n.id }));
  const todo = (which: string) => o.do.filter((d) => d.tab === which);
  const tightened = new Set((o.tighten ?? []).map((x) => x.key));
  const held = todo("torque").filter((d) => !tightened.has(d.key)), steps = [...todo("load"), ...(o.tighten ?? []), ...held, ...todo("zeros"), ...todo("start"), ...todo("after")];
  const cautions = [...new Set(o.do.map((d) => d.caution).filter(Boolean))];
  const isPallet = !!desk.plan && !!table(desk.plan.root, "pallet") && word(list(desk.plan.root, "operation").find((x) => word(x, "id") === o.id), "kind") === "pallet";
  const go = (by: number) => {
    setPlace((place + by + count * pallets) % (count * pallets));
    setTab("load");
  };
  const choose = (i: number) => { setOp(i); setPlace(0); setSet(0); setTab("load"); };
  const fresh = advice?.hash === floor.hash ? advice : null;
  const hone = fresh?.hone.filter((h) => h.operation === o.id) ?? [];
  const offsets = fresh?.offsets.filter((x) => x.operation === o.id) ?? [];
  const tabs = TABS.filter((x) => x !== "hone" || hone.length > 0);
  const shown = tabs.includes(tab) ? tab : "load";
  const hear = () => { seen(path, floor.hash); setSince(floor.hash); setTab("load"); };
  const picture = (zoom: boolean) => isPallet && desk.plan && <Pallet desk={desk} units={units} from={from} still zoom={zoom} only={nest + 1} />;
  const lying = (from: Todo[]) => !isPallet && o.up && <LoadPicture path={path} hash={floor.hash} up={o.up} kind={o.kind ?? ""} parts={o.parts ?? 1} steps={from.map((d) => ({ n: steps.indexOf(d) + 1, mark: d.mark }))} />;
  return (
    <main id="content" class="floor">
      <p class="soft which"><span class="n">{o.id}</span> · {o.name}{o.machine ? ` · ${o.machine}` : ""} · <span class="n">{t(online ? "floor.current" : "floor.last", { hash: (floor.plan_hash ?? floor.hash).slice(0, 8) })}</span></p>
      <div class="tabs choose wide" role="group" aria-label={t("col.op")}>
        {floor.operations.map((x, i) => <button aria-pressed={i === op} class={i === op ? "go" : ""} onClick={() => choose(i)}>{x.id}</button>)}
      </div>
      <div class="choose narrow noprint">
        <select aria-label={t("col.op")} value={op} onChange={(e) => choose(Number(e.currentTarget.value))}>{floor.operations.map((x, i) => <option value={i}>{x.id} · {x.name}</option>)}</select>
        {many && sets > 1 && <select aria-label={t("name.sets")} value={set} onChange={(e) => { setSet(Number(e.currentTarget.value)); setPlace(0); }}>{Array.from({ length: sets }, (_, i) => <option value={i}>{t("floor.set", { set: i + 1 })}</option>)}</select>}
      </div>
      <h1 class={n ? "" : "long"}>{capital(title)}</h1>
      {many && sets > 1 && (
        <div class="tabs choose wide" role="group" aria-label={t("name.sets")}>
          {Array.from({ length: sets }, (_, i) => <button aria-pressed={i === set} class={i === set ? "go" : ""} onClick={() => { setSet(i); setPlace(0); }}>{t("floor.set", { set: i + 1 })}</button>)}
        </div>
      )}
      {floor.changed.length > 0 && (
        <div class="warn news">
          {floor.changed.slice(0, 2).map((c) => <p><ChangeWords c={c} why={fresh?.why[c.key]} s={s} short /></p>)}
          {floor.changed.length > 2 && <p><button class="plain" onClick={() => setTab("changed")}>{t("floor.changed.more", { n: floor.changed.length - 2 })}</button></p>}
          <button class="noprint" onClick={hear}>{t("floor.changed.heard")}</button>
        </div>
      )}
      {since && since !== floor.hash && floor.compared === false && <div class="warn news"><p>{t("floor.changed.unknown")}</p><button class="noprint" onClick={hear}>{t("floor.changed.heard")}</button></div>}
      {queued > 0 && <p class="warn" role="status">{t("floor.waiting", { n: queued })}</p>}
      <div class="tabs line" role="tablist" aria-label={t("floor.show")}>
        {tabs.map((x) => <button role="tab" id={`tab-${x}`} aria-controls="floor-card" aria-selected={shown === x} onClick={() => setTab(x)}>{t(`floor.${x}` as TextKey)}</button>)}
      </div>
      <div id="floor-card" role="tabpanel" aria-labelledby={`tab-${shown}`}>
        {shown === "load" && (
          <div class={isPallet || o.up ? "card steps-first" : ""}>
            {isPallet ? <div>{picture(true)}{picture(false)}</div> : o.up && <div>{lying([...todo("load"), ...held])}</div>}
            <div>
              <ol class="steps">
                {todo("load").map((d) => <Step d={d} s={s} />)}
                {(o.tighten ?? []).map((x) => <li>{t("floor.tighten.short", { thread: x.thread, order: x.order.join(", ") })} {x.rounds.length ? x.rounds.map((r, i) => <span class="turn">{t(`floor.round.${Math.min(i, 2)}` as TextKey)} <b class="n whole">{s(r)}</b></span>) : <b class="n">{t("floor.tighten.open")}</b>}</li>)}
                {held.map((d) => <Step d={d} s={s} />)}
                {[...todo("zeros"), ...todo("start")].map((d) => <Step d={d} s={s} />)}
              </ol>
              {todo("after").length > 0 && <>
                {steps.length > todo("after").length && <h2 class="then">{t("floor.after")}</h2>}
                <ol class="steps" style={`counter-reset: s ${steps.length - todo("after").length}`}>{todo("after").map((d) => <Step d={d} s={s} />)}</ol>
              </>}
              {!o.do.length && <p>{t("floor.nothing")}</p>}
            </div>
          </div>
        )}
        {shown === "torque" && <TorqueCard o={o} s={s} picture={picture(true) || (held.length > 0 && lying(held))} rest={held} first={held.length ? steps.indexOf(held[0]) : 0} />}
        {shown === "zeros" && <ZeroCard key={o.id} path={path} op={o} where={where} rows={todo("zeros")} offsets={offsets} s={s} />}
        {shown === "measure" && <MeasureCard key={`${o.id}${where}`} path={path} operation={o.id} measures={o.measure} nest={where} s={s} />}
        {shown === "hone" && <HoneCard key={o.id} path={path} hone={hone} floor={floor} s={s} />}
        {shown === "changed" && (floor.changed.length ? <ul class="list changes">{floor.changed.map((c) => <li><ChangeWords c={c} why={fresh?.why[c.key]} s={s} /></li>)}</ul> : <p>{t(floor.compared === false ? "floor.changed.first" : "floor.changed.none")}</p>)}
      </div>
      {cautions.map((c) => <p class="warn">{c}</p>)}
      {skipped.length > 0 && <p role="status">{t("floor.skipped", { nest: skipped.join(", ") })}</p>}
      <div class={`keys${count * pallets < 2 ? " one" : ""}`}>
        {count * pallets > 1 && <button onClick={() => go(-1)}>{t("floor.back")}</button>}
        {count * pallets > 1 && <button onClick={() => { setSkipped([...new Set([...skipped, `${o.id} ${where}`])]); go(1); }}>{t("floor.skip")}</button>}
        <button onClick={() => setTab("measure")}>{t("floor.measured")}</button>
        {count * pallets > 1 && <button class="go" onClick={() => go(1)}>{t("floor.next")}</button>}
      </div>
      <p class="noprint"><button onClick={() => { setTab("load"); requestAnimationFrame(() => print()); }}>{t("floor.print")}</button> <a href={placeOf("desk", path)}>{t("nav.desk")}</a></p>
      <p class="soft small">{t("floor.heed")}</p>
    </main>
  );
}

const capital = (x: string) => x.charAt(0).toUpperCase() + x.slice(1);

/** A number stays with its unit. */
const whole = (x: string) => x.replace(/(\d) (?=[^\d\s(])/g, "$1\u00a0");

/** What is done, where in words, how much; small what the plan calls the place, last its note. */
const Step = ({ d, s }: { d: Todo; s: Say }) => {
  const value = s(d.value), note = d.tab === "load" && d.where;
  return (
    <li>{d.what}{d.where && <>: <b>{whole(s(d.where))}</b></>}{value && !note && <>{d.where ? ", " : ": "}<b class={value.length < 24 ? "n whole" : "n"}>{value}</b></>}
      {d.on && d.on !== d.value && <> <span class="soft n named">{d.on}</span></>}{value && note && <span class="note">{value}</span>}</li>
  );
};

/** What changed, from what to what, and why: the file's own note first, then what the study says moved. */
function ChangeWords({ c, why, s, short }: { c: Changed; why?: Reason[]; s: Say; short?: boolean }) {
  const reasons = why?.slice(0, short ? 1 : 3) ?? [];
  return (
    <>
      {t("floor.changed.name", { name: c.name })} <b class="n">{c.to ? s(c.to) : t("floor.changed.gone")}</b>{c.from && <>{t("floor.changed.not")} <span class="n">{s(c.from)}</span></>}.
      {c.why && <> {t("floor.changed.note", { why: c.why })}</>}
      {reasons.length > 0 && <> {t("floor.changed.why")}{reasons.map((r) => (
        <span class="reason"> <Mark state={r.after} /> {r.operation} {s(r.title)}: {t(r.before === r.after ? "floor.changed.same" : "floor.changed.moved", { was: s(r.was), is: s(r.is), before: t(`state.${r.before}` as TextKey), after: t(`state.${r.after}` as TextKey) })}{r.limit && ` (${s(r.limit)})`}{r.better ? "" : `, ${t("floor.changed.worse")}`}.</span>
      ))}</>}
      {!c.why && why?.length === 0 && <> {t("floor.changed.nothing")}</>}
    </>
  );
}

/** Screws by number in the picture, in their order, round by round. */
function TorqueCard({ o, s, picture, rest, first }: { o: FloorOp; s: Say; picture: any; rest: Todo[]; /** steps before them on the load sheet */ first: number }) {
  const groups = o.tighten ?? [];
  if (!groups.length && !rest.length) return <p>{t("floor.nothing")}</p>;
  return (
    <div class={picture ? "card" : ""}>
      {picture && <div>{picture}</div>}
      <div>
        {groups.map((x) => (
          <>
            <p><b class="n">{x.thread}</b>{x.through && ` ${t("floor.tighten.through", { feature: x.through })}`}{x.lubrication && `, ${x.lubrication}`}</p>
            {x.rounds.length ? (
              <ol class="steps rounds">{x.rounds.map((torque, i) => (
                <li><b class="n big">{s(torque)}</b> <span class="soft">{t(`floor.round.${Math.min(i, 2)}` as TextKey)}</span><br />
                  <span class="order" aria-label={t("floor.order")}>{x.order.map((k, j) => <>{j > 0 && <i aria-hidden="true"> → </i>}<b class="screw n">{k}</b></>)}</span></li>
              ))}</ol>
            ) : <p class="warn">{t("floor.tighten.open")}</p>}
          </>
        ))}
        {rest.length > 0 && <ol class="steps" style={`counter-reset: s ${first}`}>{rest.map((d) => <Step d={d} s={s} />)}</ol>}
      </div>
    </div>
  );
}

/** Zeros to read back, and offsets that the last readings ask to move: never without saying which way, never without a second yes. */
function ZeroCard({ path, op, where, rows, offsets, s }: { path: string; op: FloorOp; where: string; rows: Todo[]; offsets: Offset[]; s: Say }) {
  const [sure, setSure] = useState<Offset | null>(null);
  const [said, setSaid] = useState("");
  const keep = async (x: Offset) => {
    setSure(null);
    try {
      const all = await send({ id: newId(), path, operation: op.id, nest: where, what: `offset ${x.feature}${x.tool ? ` ${x.tool}` : ""}`, value: `moved: ${x.move}`.slice(0, 120), who: "", at: new Date().toISOString() });
      setSaid(all ? t("floor.offset.kept", { feature: x.feature }) : t("floor.queued", { n: waiting() }));
    } catch (e) {
      setSaid((e as Error).message);
    }
  };
  if (sure) return (
    <div>
      <p class="warn sure">{t("floor.offset.sure", { what: `${sure.tool ? `${sure.tool}, ` : ""}${sure.feature}` })} <b class="big">{capital(s(sure.move))}</b></p>
      <p>{s(sure.sentence)}</p>
      <div class="keys"><button onClick={() => setSure(null)}>{t("floor.offset.no")}</button><button class="go" onClick={() => void keep(sure)}>{t("floor.offset.yes")}</button></div>
    </div>
  );
  return (
    <div>
      {said && <p class="warn" role="status">{said}</p>}
      {rows.length ? <ul class="facts">{rows.map((d) => <li><span>{d.what}</span><b>{s(d.value)}</b></li>)}</ul> : <p>{t("floor.nothing")}</p>}
      {offsets.map((x) => (
        <section class="offset">
          <h2><Mark state={x.state} /> {s(x.title)}</h2>
          {x.state === "open" ? <Waits need={t("floor.offset.need", { feature: x.feature })} missing={x.missing.map(s)} /> : <p>{s(x.sentence)}</p>}
          {x.move ? <button class="go" onClick={() => setSure(x)}>{t("floor.offset.go")} {s(x.move)}</button> : x.state !== "open" && <p><b>{t("floor.offset.leave")}</b></p>}
        </section>
      ))}
    </div>
  );
}

/** What is still to be measured and who enters it, in plain words; what the plan calls it only for whoever keeps the plan. */
const Waits = ({ need, missing }: { need: string; missing: string[] }) => (
  <>
    <p>{need} {t("floor.who.enters")}</p>
    {missing.length > 0 && <details class="noprint"><summary class="soft">{t("floor.for.desk")}</summary><ul class="soft small">{missing.map((x) => <li class="n">{x}</li>)}</ul></details>}
  </>
);

/** Which parts go to the hone, how much each, and the reading afterwards. */
function HoneCard({ path, hone, floor, s }: { path: string; hone: Hone[]; floor: Floor; s: Say }) {
  const [part, setPart] = useState<{ of: Hone; part: string; m: Measure } | null>(null);
  const [said, setSaid] = useState("");
  const size = (h: Hone) => floor.operations.flatMap((o) => o.measure).find((m) => h.feature && m.id.startsWith(`${h.feature}.`) && m.upper !== null && m.lower !== null);
  if (part) return <Digits path={path} operation={part.of.operation} nest={t("floor.hone.part", { part: part.part })} s={s} m={part.m} done={(x) => { setSaid(x); setPart(null); }} />;
  return (
    <div>
      {said && <p class="warn" role="status">{said}</p>}
      {hone.map((h) => {
        const m = size(h);
        return (
          <section>
            <h2><Mark state={h.state} /> {s(h.title)}{h.to && <>: {t("floor.hone.to")} <b class="n">{s(h.to)}</b></>}</h2>
            {h.state === "open" && <Waits need={t("floor.hone.need")} missing={h.missing.map(s)} />}
            {h.sentence && <p class="soft">{s(h.sentence)}</p>}
            {h.list.length > 0 && (
              <ul class="list hones">{h.list.map((x) => (
                <li class={x.hone ? "" : "aside"}><b class="n">{t("floor.hone.no", { part: x.part })}</b><span class="n">{t("floor.reads", { value: s(x.size) })}</span><b class="n big">{s(x.what)}</b>
                  {x.hone && m ? <button onClick={() => setPart({ of: h, part: x.part, m })}>{t("floor.hone.done")}</button> : <span />}</li>
              ))}</ul>
            )}
            {h.state !== "open" && !h.list.length && <p>{t("floor.hone.none")}</p>}
          </section>
        );
      })}
    </div>
  );
}
