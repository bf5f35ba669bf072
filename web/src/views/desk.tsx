import { useEffect, useState } from "preact/hooks";
import { address } from "../api";
import { useDesk, type Desk } from "../desk_state";
import { list, word } from "../plan";
import { stateRank, STATES, type Finding, type State } from "../model";
import { t, type TextKey } from "../texts";
import { makes } from "../route";
import { changedLines } from "../diff";
import { say, type System } from "../units";
import { placeOf } from "../store";
import { MarginBar, Mark, ScaleWords } from "../parts/state";
import { Opened } from "../parts/opened";
import { Problems, saidOf } from "../parts/problems";
import { CastingStrip } from "../parts/casting";
import { Pictures, Strip } from "../parts/strip";
import { bare, speaksOf, titleOf, type Features } from "../parts/feature";

const FIRST = 10;

/** The plan alive: verdict, what needs a hand first, the route with its drawings. */
export function DeskView({ path, finding, units: wanted }: { path: string; finding: string; units: System | "plan" }) {
  const desk = useDesk(path);
  const [open, setOpen] = useState(finding);
  const [states, setStates] = useState<Set<State>>(new Set());
  const [op, setOp] = useState("");
  const [all, setAll] = useState(false);
  const [picked, setPicked] = useState({ id: "", at: "" });
  const [only, setOnly] = useState("");
  const spoken = open && desk.shown.find((f) => f.id === open)?.feature;
  useEffect(() => { if (spoken) setPicked({ id: bare(spoken), at: "" }); }, [open, spoken]);
  useEffect(() => { setPicked({ id: "", at: "" }); setOnly(""); }, [path]);
  const features: Features = {
    now: picked.id, at: picked.at, press: (id, at) => setPicked(id === picked.id && at === picked.at ? { id: "", at: "" } : { id, at }),
    only: (id) => { setOnly(id); setStates(new Set()); setOp(""); requestAnimationFrame(() => document.querySelector(".filters")?.scrollIntoView({ block: "start" })); },
  };
  useEffect(() => {
    if (finding) setOpen(finding);
    if (finding) requestAnimationFrame(() => document.getElementById(`f-${finding}`)?.scrollIntoView({ block: "start" }));
  }, [!desk.study, finding]);
  useEffect(() => history.replaceState(null, "", placeOf("desk", path, open ? { f: open } : {})), [open, path]); // the address is a link to what is open
  useEffect(() => {
    const on = (e: KeyboardEvent) => {
      if (!(e.ctrlKey || e.metaKey) || e.key.toLowerCase() !== "z" || (e.target as Element).tagName === "INPUT") return;
      e.preventDefault();
      if (e.shiftKey) desk.redo();
      else if (desk.changes.length) takeLastBack(desk);
      else desk.undo();
    };
    addEventListener("keydown", on);
    return () => removeEventListener("keydown", on);
  });
  const from: System = desk.study?.plan.units ?? "metric";
  const units: System = wanted === "plan" ? from : wanted;
  if (!desk.study || !desk.plan) return <main id="content"><Problems problems={desk.problems} retry={desk.reload} />{!desk.problems.length && <h1 role="status">{t("loading")}</h1>}</main>;
  const counts = desk.tally?.after ?? desk.study.counts;
  const pick = (id: string) => {
    setOpen(id === open ? "" : id);
    setStates(new Set());
    setOp("");
    setOnly("");
    requestAnimationFrame(() => document.getElementById(`f-${id}`)?.scrollIntoView({ block: "center" }));
  };
  const sorted = [...desk.shown].sort((a, b) => stateRank(a.state) - stateRank(b.state) || (a.margin ?? 0) - (b.margin ?? 0));
  const filtered = sorted.filter((f) => (!states.size || states.has(f.state)) && (!op || f.operation === op) && (!only || speaksOf(desk, f, only)));
  const rows = all || states.size || op || only ? filtered : filtered.filter((f, i) => i < FIRST || f.id === open);
  const ops = list(desk.plan.root, "operation");
  const names = [...new Set(desk.shown.map((f) => f.operation))].sort((a, b) => order(ops.map((o) => word(o, "id")), a) - order(ops.map((o) => word(o, "id")), b));
  const whole = desk.study.done !== false && !desk.stopped;
  const verdict = desk.study.verdict, trying = desk.changes.length > 0 || desk.trying || !!desk.refused;
  return (
    <main id="content">
      {desk.tally ? <TrialVerdict tally={desk.tally} /> : <h1>{whole ? "" : <span class="sofar">{t(desk.stopped ? "desk.sofar.stopped" : "desk.sofar")} </span>}<Verdict text={say(verdict, from, units)} /></h1>}
      {desk.tally ? <p class="soft"><Counts tally={desk.tally} />. <b>{t(desk.rest?.study ? "trial.rows.whole" : "trial.rows")}</b></p> : <p class="soft">{t("desk.counts", desk.study.counts)}. {t("desk.first")}</p>}
      {desk.study.casting && <p class="small">{say(desk.study.casting, from, units)}</p>}
      <p class="soft small"><span role="status">{desk.stopped ? t("study.stopped") : desk.study.done === false ? t("busy.study", { what: desk.doing || "…" }) : desk.note}</span>
        {desk.stopped ? <> <button class="plain noprint" onClick={desk.reload}>{t("study.goon")}</button></> : desk.study.done === false && desk.study.job && <> <button class="plain noprint" onClick={desk.stop}>{t("study.stop")}</button></>}</p>
      {!trying && <Problems problems={desk.problems} />}
      {desk.conflict && <ConflictBox desk={desk} />}
      <div class="filters" role="group" aria-label={t("desk.filter")}>
        {STATES.map((s) => (
          <button class="chip" aria-pressed={states.has(s)} title={t(`state.${s}.means` as TextKey)} onClick={() => { const n = new Set(states); if (!n.delete(s)) n.add(s); setStates(n); }}>
            <Mark state={s} /> {desk.tally && desk.tally.before[s] !== counts[s] && <s class="soft">{desk.tally.before[s]}</s>} {counts[s]} {t(`state.${s}` as TextKey)}
          </button>
        ))}
        <label class="unseen" for="op">{t("desk.filter.operation")}</label>
        <select id="op" value={op} onChange={(e) => setOp(e.currentTarget.value)}>
          <option value="">{t("desk.filter.operation")}: {t("desk.all")}</option>
          {names.map((n) => <option value={n}>{n || t("desk.wholejob")}</option>)}
        </select>
        {only && <button class="chip" aria-pressed onClick={() => setOnly("")}>{t("feature.filter", { title: titleOf(desk, only) })} ×</button>}
        <span class="small soft">
          <button class="plain" disabled={!desk.file?.undo} onClick={desk.undo}>{t("undo")}</button> <button class="plain" disabled={!desk.file?.redo} onClick={desk.redo}>{t("redo")}</button>
          {" · "}<a href={address("sheet.pdf", { path })} target="_blank" rel="noopener">{t("desk.papers")}</a>
        </span>
      </div>
      <Margins rows={rows} desk={desk} open={open} setOpen={setOpen} path={path} units={units} from={from} lit={picked.id} />
      {!filtered.length && <p class="soft">{t("desk.noneleft")}</p>}
      {filtered.length > FIRST && !states.size && !op && !only && <p class="noprint"><button class="plain" onClick={() => setAll(!all)}>{all ? t("desk.fewer") : t("desk.more", { n: filtered.length - FIRST })}</button></p>}
      <h2 class="unseen">{t("desk.route")}</h2>
      <p class="soft small noprint route-hint">{t("desk.route.hint")}</p>
      <CastingStrip desk={desk} units={units} from={from} pick={pick} features={features} />
      {ops.map((o, i) => {
        const kind = word(o, "kind");
        const palletAt = ops.findIndex((x) => word(x, "kind") === "pallet");
        return <Strip desk={desk} op={o} findings={desk.shown.filter((f) => f.operation === word(o, "id"))} units={units} from={from} pick={pick} alight={open} features={features} cleanness={kind === "grind" ? "raw" : i < palletAt ? "half" : "done"} />;
      })}
      <Pictures path={path} />
      {desk.study.not_looked_at.length > 0 && <p class="soft small">{t("desk.notlooked", { what: desk.study.not_looked_at.join("; ") })}</p>}
      <p class="soft small n">{t("hash", { hash: desk.study.plan.hash.slice(0, 8) })} · {t("version", { version: desk.study.version })}</p>
      {trying && <TrialBar desk={desk} units={units} from={from} />}
    </main>
  );
}

function takeLastBack(desk: Desk) {
  const last = desk.changes[desk.changes.length - 1], moved = Object.keys(desk.moves).pop();
  if (last.group && moved) desk.moveFeature(moved, homeOf(desk, moved));
  else desk.takeBack(last.key);
}

const homeOf = (desk: Desk, feature: string) => word(list(desk.plan!.root, "operation").find((o) => makes(o, {}).some((m) => m.id === feature)), "id");

const order = (ids: string[], id: string) => (ids.indexOf(id) < 0 ? 99 : ids.indexOf(id));

/** The heading while something is tried: how many are outside with it, and how many without. */
function TrialVerdict({ tally }: { tally: NonNullable<Desk["tally"]> }) {
  const now = tally.after.outside, was = tally.before.outside;
  return <h1 class="tried">{t("trial.verdict")} <em>{t(now === 1 ? "trial.verdict.one" : "trial.verdict.many", { n: now })}</em>{now === was ? t("trial.verdict.same") : t("trial.verdict.was", { n: was })}</h1>;
}

/** "100 → 103 inside · 9 tight": old beside new where they differ. */
function Counts({ tally }: { tally: NonNullable<Desk["tally"]> }) {
  return <>{(["inside", "tight", "outside", "beyond", "open"] as const).map((s, i) => (
    <>{i > 0 && " · "}{tally.before[s] !== tally.after[s] && <><s>{tally.before[s]}</s> → </>}{tally.before[s] !== tally.after[s] ? <b>{tally.after[s]}</b> : tally.after[s]} {t(`state.${s}`)}</>
  ))}</>;
}

/** "Not yet. 24 findings are outside; ...": the part that hurts is underlined. */
function Verdict({ text }: { text: string }) {
  const m = /^(.*?\. )?(\d+ findings? (?:is|are) outside)(.*)$/s.exec(text);
  return m ? <>{m[1]}<em>{m[2]}</em>{m[3]}</> : <>{text}</>;
}

function Margins({ rows, desk, open, setOpen, path, units, from, lit }: { lit: string; rows: Finding[]; desk: Desk; open: string; setOpen: (id: string) => void; path: string; units: System; from: System }) {
  return (
    <>
      <div class="row head" aria-hidden="true"><span class="op">{t("col.op")}</span><span class="what">{t("col.what")}</span><span class="value">{t("col.value")}</span><span class="bar" /><span class="limit">{t("col.limit")}</span><span class="lever">{t("col.lever")}</span></div>
      <ol class="margins">
        {rows.map((f) => (
          <li id={`f-${f.id}`} key={f.id} class={lit && speaksOf(desk, f, lit) ? "lit" : ""}>
            <button class={`row ${f.state}`} aria-expanded={open === f.id} onClick={() => setOpen(open === f.id ? "" : f.id)}>
              <span class="op">{f.operation || "—"}</span>
              <span class="what">{say(f.title, from, units)}{lit && speaksOf(desk, f, lit) && <b class="of">{lit}<span class="unseen">, {t("feature.row")}</span></b>}<span class="word">{t(`state.${f.state}` as TextKey)}</span></span>
              <span class="value">{say(f.value_text, from, units) || "—"}</span>
              <span class="bar"><MarginBar finding={f} was={desk.was.get(f.id)} /></span>
              <span class="limit">{say(f.limit?.text, from, units)}</span>
              <span class="lever">{say(f.state === "open" ? f.missing[0] : f.levers[0]?.text, from, units)}</span>
            </button>
            {open === f.id && <Opened finding={f} desk={desk} path={path} units={units} from={from} close={() => setOpen("")} />}
          </li>
        ))}
      </ol>
      <div class="row foot" aria-hidden="true"><span class="op" /><span class="what" /><span class="value" /><span class="bar"><ScaleWords /></span></div>
    </>
  );
}

function TrialBar({ desk, units, from }: { desk: Desk; units: System; from: System }) {
  const moved = desk.trial?.moved ?? [];
  const both = moved.filter((m) => m.before && m.after); // what came or went is neither better nor worse
  const better = both.filter((m) => (m.margin_after ?? -99) > (m.margin_before ?? -99)).length;
  const mended = both.filter((m) => m.before === "outside" && m.after !== "outside").length;
  const broken = moved.filter((m) => m.before !== "outside" && m.after === "outside").length;
  const s = (x: string) => say(x, from, units);
  return (
    <section class="trial noprint" aria-label={t("trial.title")}>
      <b>{t("trial.title")}</b>
      <span class="list">
        {Object.entries(desk.moves).map(([f, to]) => (
          <span>{t("trial.move", { feature: f, to })} <button class="plain" aria-label={t("trial.dropone", { key: f })} onClick={() => desk.moveFeature(f, homeOf(desk, f))}>×</button></span>
        ))}
        {desk.changes.filter((c) => !c.group).map((c) => (
          <span>{c.name}: <span class="n"><s class="soft">{s(c.was)}</s> → <b>{s(Array.isArray(c.value) ? c.value.join("; ") : (c.value ?? "—"))}</b></span> <button class="plain" aria-label={t("trial.dropone", { key: c.name })} onClick={() => desk.takeBack(c.key)}>×</button></span>
        ))}
      </span>
      <span><button class="go" disabled={desk.trying || !desk.trial || !!desk.refused} onClick={desk.accept}>{t("trial.accept")}</button> <button onClick={desk.drop}>{t("trial.drop")}</button></span>
      {desk.refused && <span class="refusal">{t("trial.refused", { what: desk.refused.changes.map((c) => `${c.name}: ${Array.isArray(c.value) ? c.value.join("; ") : (c.value ?? "—")}`).join("; ") })} {desk.refused.problems.map(saidOf).join("; ")} <button class="plain" onClick={desk.forget}>{t("trial.leave")}</button></span>}
      <Problems problems={desk.problems} />
      <span role="status">{desk.trying ? t("trial.busy") : desk.trial && <>{t("trial.sum", { better, worse: both.length - better, mended, broken })}{desk.stale ? `; ${desk.rest ? t("trial.rest", { n: desk.stale, what: desk.rest.doing, share: Math.round(100 * desk.rest.share) }) : t("trial.open", { n: desk.stale })}` : ""} <span class="soft small">{t("trial.took", { ms: Math.round(desk.trial.ms) })}</span></>}</span>
      {moved.length > 0 && (
        <details>
          <summary class="small">{t("trial.moved")} ({moved.length})</summary>
          <ul class="moved">
            {[...moved].sort((a, b) => Math.abs((b.margin_after ?? 0) - (b.margin_before ?? 0)) - Math.abs((a.margin_after ?? 0) - (a.margin_before ?? 0))).slice(0, 16).map((m) => (
              <li>{m.before ? <Mark state={m.before} /> : <i>{t("trial.new")}</i>} → {m.after ? <Mark state={m.after} /> : <i>{t("trial.gone")}</i>} {s(m.title)} <span class="n soft">{m.margin_before?.toFixed(2) ?? "—"} → {m.margin_after?.toFixed(2) ?? "—"}</span></li>
            ))}
          </ul>
        </details>
      )}
      {desk.trial && desk.trial.diff.length > 0 && (
        <details><summary class="small">{t("trial.diff")}</summary><pre>{changedLines(desk.trial.diff)}</pre></details>
      )}
    </section>
  );
}

function ConflictBox({ desk }: { desk: Desk }) {
  const c = desk.conflict!;
  const theirs = c.theirs?.split("\n") ?? [], mine = new Set(c.mine?.split("\n") ?? []), base = new Set(theirs);
  return (
    <div class="notice" role="alertdialog" aria-label={t("conflict.title")}>
      <b>{t("conflict.title")}</b>
      <p>{t("conflict.text")}</p>
      <div class="two">
        <div><h3>{t("conflict.mine")}</h3><pre class="kept">{c.mine ? c.mine.split("\n").filter((l) => !base.has(l)).join("\n") : desk.changes.map((x) => `${x.key} = ${x.value}`).join("\n")}</pre></div>
        <div><h3>{t("conflict.theirs")}</h3><pre class="kept">{theirs.filter((l) => !mine.has(l)).join("\n")}</pre></div>
      </div>
      {c.kept && <p class="soft small">{t("conflict.copy", { file: c.kept })}</p>}
      <button class="go" onClick={() => desk.settle(true)}>{t("conflict.keep")}</button> <button onClick={() => desk.settle(false)}>{t("conflict.leave")}</button>
    </div>
  );
}

