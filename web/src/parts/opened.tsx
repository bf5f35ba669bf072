import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import type { Finding, MovedLever } from "../model";
import { t, type TextKey } from "../texts";
import { fromSi, say, type System } from "../units";
import type { Desk } from "../desk_state";
import { Mark } from "./state";

interface Props { finding: Finding; desk?: Desk; path: string; units: System; from: System; close?: () => void }

const sign = (m: number | null) => (m === null ? "—" : (m < 0 ? "−" : "+") + Math.abs(m).toFixed(2));

/** A finding opened: what it says, from which numbers by which formula, what it stands on, what would move it. */
export function Opened({ finding: f, desk, path, units, from, close }: Props) {
  const s = (text: string | null | undefined) => say(text, from, units);
  return (
    <section class="opened" aria-label={say(f.title, from, units)}>
      <h2 class="unseen">{say(f.title, from, units)}</h2>
      <p class="say">{s(f.sentence)}</p>
      <div class="bigvals">
        <div><span>{t("finding.value")}</span>{s(f.value_text)}</div>
        {f.limit && <div><span>{t("finding.limit")}</span>{s(f.limit.text)}</div>}
        <div><span>{t("finding.margin")}</span>{sign(f.margin)} · {t(`state.${f.state}` as TextKey)}</div>
      </div>
      <p class="soft small"><Mark state={f.state} /> {t(`state.${f.state}.means` as TextKey)}{f.flipped_by ? `: ${f.flipped_by}` : ""}</p>
      {f.range && <p><b>{t("finding.range")}:</b> {s(f.range)}</p>}
      {f.missing.length > 0 && <><h3>{t("finding.missing")}</h3><ul>{f.missing.map((m) => <li class="n">{m}</li>)}</ul></>}
      <div class="cols">
        <div>
          <h3>{t("finding.formula")}</h3><p>{s(f.formula)}</p>
          <h3>{t("finding.source")}</h3><p class="soft">{f.source}</p>
          {f.inputs.length > 0 && <><h3>{t("finding.inputs")}</h3><dl>{f.inputs.map((i) => <><dt>{i.name}</dt><dd>{s(i.text)}</dd></>)}</dl></>}
          {f.interval && <p class="soft small">{t("finding.interval", { low: fromSi(f.interval.low, f.kind, units), high: fromSi(f.interval.high, f.kind, units), meaning: f.interval.meaning })}</p>}
        </div>
        <div>
          <h3>{t("finding.levers")}</h3>
          {f.levers.length ? <ul>{f.levers.map((l) => <li>{s(l.text)}</li>)}</ul> : <p class="soft">{t("finding.levers.none")}</p>}
          {desk && <Levers path={path} id={f.id} desk={desk} s={s} />}
          {f.assumptions.length > 0 && (
            <>
              <h3>{t("finding.assumptions")}</h3>
              <ul>{f.assumptions.map((a) => (
                <li>
                  {a.name}: <b class="n">{fromSi(a.value, a.kind, units)}</b> <span class="soft">({t("finding.assumed")}, {t("finding.band", { low: fromSi(a.low, a.kind, units), high: fromSi(a.high, a.kind, units) })})</span>
                  {a.flips && <b class="warm"> {t("finding.flips")}</b>}
                  <span class="soft small"><br />{a.source}{a.replaced_by ? `; ${t("finding.replaced", { what: a.replaced_by })}` : ""}</span>
                </li>
              ))}</ul>
            </>
          )}
        </div>
      </div>
      {f.cautions.length > 0 && <div class="heed"><h3>{t("finding.cautions")}</h3>{f.cautions.map((c) => <p>{c}</p>)}</div>}
      <p class="soft small n">{f.id}</p>
      {close && <button class="noprint" onClick={close}>{t("finding.close")}</button>}
    </section>
  );
}

/** Levers that the study moved for real, with what else moves; each can be tried. */
function Levers({ path, id, desk, s }: { path: string; id: string; desk: Desk; s: (x: string) => string }) {
  const [levers, set] = useState<MovedLever[] | null>(null);
  const [asked, ask] = useState(false);
  useEffect(() => {
    if (!asked) return;
    const stop = new AbortController();
    (async () => {
      let a = await get<any>("levers", { path, finding: id }, stop.signal);
      while (a.done === false && !stop.signal.aborted) a = await get<any>("levers", { job: a.job }, stop.signal);
      set(a.levers ?? []);
    })().catch(() => !stop.signal.aborted && set([]));
    return () => stop.abort();
  }, [asked, id, path, desk.file?.hash]);
  if (!asked) return <p><button class="plain" onClick={() => ask(true)}>{t("finding.levers.more")}</button></p>;
  if (!levers) return <p class="soft" role="status">{t("loading")}</p>;
  return (
    <ul>
      {levers.map((l) => {
        const better = l.moved.filter((m) => (m.margin_after ?? -9) > (m.margin_before ?? -9)).length;
        return (
          <li>
            <b>{l.name}</b> <span class="n">{s(l.from)} → {s(l.to)}</span> <span class="soft">({l.effort}) · {better} {t("finding.better")}, {l.moved.length - better} {t("finding.worse")}</span>{" "}
            {!l.structural && <button class="plain" onClick={() => desk.propose({ key: l.plan_key ?? planKey(desk, l), value: l.to, was: l.from, name: l.name })}>{t("finding.try", { to: s(l.to) })}</button>}
          </li>
        );
      })}
    </ul>
  );
}

/** Levers name their key in words ("operation.cut T8.feed"); the plan's own key is the one that ends alike and says the same. */
function planKey(desk: Desk, l: MovedLever): string {
  const known = desk.plan?.leaves;
  if (!known || known.has(l.key)) return l.key;
  const words = l.key.split(/[\s.]+/);
  const op = / in (\w+)$|, (OP\w+)$/.exec(l.name);
  const fits = [...known.keys()].filter((k) => {
    const parts = k.split(".");
    return parts[0] === words[0] && parts.at(-1) === words.at(-1) && (!op || parts.includes(op[1] ?? op[2])) && words.every((w) => !/\d/.test(w) || parts.includes(w));
  });
  return fits[0] ?? l.key;
}
