import { useEffect, useMemo, useState } from "preact/hooks";
import { get, post, Refused } from "../api";
import type { Reckoner, ReckonInput } from "../model";
import { placeOf } from "../store";
import { t } from "../texts";
import { say, type System } from "../units";

interface Answer {
  state: string; sentence?: string; notes?: string[]; cautions?: string[]; outputs?: Record<string, { text: string; si?: number }>;
  inputs?: Record<string, { value: string; assumed: boolean; source?: string }>; problems?: { what?: string; said?: string; message?: string; found?: string }[];
}
interface Plot { over: string; unit: string; x: number[]; y: Record<string, (number | null)[]>; said?: Record<string, string[]>; texts: string[]; beyond: boolean[] }

/** "plate temperature: of plate and pins"; the name is left away where the help says it already. */
function titled(name: string, help = ""): string {
  const words = name.split("_").filter((w) => w.length > 2), low = help.toLowerCase();
  return !words.length || words.every((w) => low.includes(w.toLowerCase())) ? help || name : `${name.replace(/_/g, " ")}: ${help}`;
}

/** Every calculator on its own. */
export function BenchView({ name, q, units }: { name: string; q: URLSearchParams; units: System }) {
  const [all, setAll] = useState<Reckoner[] | null>(null);
  const [find, setFind] = useState("");
  useEffect(() => void get<{ reckoners: Reckoner[] }>("reckoners").then((a) => setAll(a.reckoners)), []);
  if (!all) return <main id="content"><h1 role="status">{t("loading")}</h1></main>;
  const one = all.find((r) => r.name === name);
  if (one) return <One key={one.name} r={one} q={q} units={units} />;
  const hits = all.filter((r) => find.toLowerCase().split(/\s+/).every((w) => `${r.question} ${r.name} ${r.science}`.toLowerCase().includes(w)));
  const sciences = [...new Set(hits.map((r) => r.science))];
  return (
    <main id="content">
      <h1>{t("bench.title")}</h1>
      <p class="soft">{t("bench.lead", { n: all.length })}</p>
      <p><label>{t("bench.find")} <input type="search" value={find} onInput={(e) => setFind(e.currentTarget.value)} /></label></p>
      {!hits.length && <p>{t("bench.none")}</p>}
      <div class="sciences">
        {sciences.map((s) => <section><h2>{s[0].toUpperCase() + s.slice(1).replace("_", " ")}</h2>{hits.filter((r) => r.science === s).map((r) => <a href={placeOf("bench", r.name)}>{r.question}</a>)}</section>)}
      </div>
    </main>
  );
}

function One({ r, q, units }: { r: Reckoner; q: URLSearchParams; units: System }) {
  const [given, setGiven] = useState<Record<string, string>>(() => Object.fromEntries(r.inputs.map((i) => [i.name, q.get(i.name) ?? ""])));
  const [answer, setAnswer] = useState<Answer | null>(null);
  const [linked, setLinked] = useState(false);
  const filled = useMemo(() => Object.fromEntries(Object.entries(given).filter(([, v]) => v.trim())), [given]);
  const missing = r.inputs.filter((i) => i.required && !filled[i.name]);
  const link = location.href.split("#")[0] + placeOf("bench", r.name, filled);
  useEffect(() => {
    history.replaceState(null, "", placeOf("bench", r.name, filled));
    setLinked(false);
    if (missing.length) return setAnswer(null);
    const stop = new AbortController();
    const later = setTimeout(() => {
      post<Answer>("reckon", { name: r.name, inputs: filled, units }, stop.signal).then(setAnswer)
        .catch((e) => !stop.signal.aborted && setAnswer(e instanceof Refused ? { state: "refused", problems: e.problems as Answer["problems"] } : { state: "refused", problems: [{ what: String(e) }] }));
    }, 120);
    return () => {
      clearTimeout(later);
      stop.abort();
    };
  }, [filled, units]);
  const set = (name: string, v: string) => setGiven({ ...given, [name]: v });
  const s = (x: string | undefined) => say(x, "metric", units);
  const groups: [string, ReckonInput[]][] = [[t("bench.required"), r.inputs.filter((i) => i.required)], [t("bench.optional"), r.inputs.filter((i) => !i.required)]];
  const refused = answer?.problems?.length ? answer.problems : null;
  return (
    <main id="content">
      <p><a href={placeOf("bench")}>{t("bench.back")}</a></p>
      <h1>{r.question}</h1>
      <div class="bench">
        <form onSubmit={(e) => e.preventDefault()}>
          {groups.map(([title, list]) => list.length > 0 && (
            <fieldset class="plainset"><legend class="strong">{title}</legend>
              <div class="fields">{list.map((i) => (
                <label>{titled(i.name, i.help)}
                  {i.choices?.length ? <select value={given[i.name]} onChange={(e) => set(i.name, e.currentTarget.value)}><option value="">{i.default ? t("bench.default", { value: i.default }) : "—"}</option>{i.choices.map((c) => <option>{c}</option>)}</select>
                    : <input value={given[i.name]} placeholder={i.default ? t("bench.default", { value: s(i.default) }) : s(i.example)} onInput={(e) => set(i.name, e.currentTarget.value)} />}
                  <span class="hint">{i.default ? `${t("bench.default", { value: s(i.default) })}${i.default_source ? ` (${i.default_source})` : ""}` : i.example ? t("bench.example", { value: s(i.example) }) : ""}{i.range ? ` · ${s(i.range)}` : ""}</span>
                </label>
              ))}</div>
            </fieldset>
          ))}
          <p class="noprint">{r.examples[0] && <button type="button" onClick={() => setGiven({ ...Object.fromEntries(r.inputs.map((i) => [i.name, ""])), ...r.examples[0].given })}>{t("bench.load")}</button>}{" "}
            <button type="button" onClick={() => { void navigator.clipboard?.writeText(link).then(() => setLinked(true)); }}>{linked ? t("bench.linked") : t("bench.link")}</button></p>
        </form>
        <div>
          <section class="answer" aria-live="polite" aria-label={t("bench.answer")}>
            {missing.length > 0 && <p class="soft">{t("bench.missing", { what: missing.map((m) => titled(m.name, m.help)).join("; ") })}</p>}
            {refused && <div class="heed">{refused.map((p) => <p>{p.said ?? p.message ?? p.what ?? p.found}</p>)}</div>}
            {answer && !refused && (
              <>
                <p class="big">{s(answer.sentence)}</p>
                <table><tbody>{Object.entries(answer.outputs ?? {}).map(([k, o]) => <tr><th scope="row">{titled(k, r.outputs.find((x) => x.name === k)?.help)}</th><td class="n strong">{s(o.text)}</td></tr>)}</tbody></table>
                {answer.notes?.map((n) => <p class="soft">{s(n)}</p>)}
                {Object.entries(answer.inputs ?? {}).some(([, i]) => i.assumed) && <p class="small soft">{t("finding.assumed")}: {Object.entries(answer.inputs ?? {}).filter(([, i]) => i.assumed).map(([k, i]) => `${titled(k, r.inputs.find((x) => x.name === k)?.help)} ${s(i.value)}${i.source ? ` (${i.source})` : ""}`).join("; ")}</p>}
                {(answer.cautions?.length ?? 0) > 0 && <div class="heed"><h2>{t("finding.cautions")}</h2>{answer.cautions!.map((c) => <p>{c}</p>)}</div>}
                <SmallPlot r={r} filled={answer.inputs ?? {}} given={filled} answer={answer} units={units} />
              </>
            )}
          </section>
          <h2>{t("bench.formula")}</h2><p>{r.formula}</p>
          <h2>{t("bench.source")}</h2><p class="soft">{r.source}</p>
          {r.range && <p class="soft small">{t("bench.range")}: {r.range}</p>}
        </div>
      </div>
    </main>
  );
}

/** One output over one input, from the given value's half to its double unless said. */
function SmallPlot({ r, given, filled, answer, units }: { r: Reckoner; given: Record<string, string>; filled: NonNullable<Answer["inputs"]>; answer: Answer; units: System }) {
  const numeric = r.inputs.filter((i) => i.form === "quantity" && filled[i.name]);
  const outs = Object.entries(answer.outputs ?? {}).filter(([, o]) => o.si !== undefined).map(([k]) => k);
  const [over, setOver] = useState(numeric.find((i) => given[i.name])?.name ?? numeric[0]?.name ?? "");
  const [of, setOf] = useState(outs[0] ?? "");
  const [plot, setPlot] = useState<Plot | null>(null);
  const value = filled[over]?.value ?? "";
  const m = /^(-?[\d.]+)\s*(.*)$/.exec(value);
  const [ends, setEnds] = useState<[string, string] | null>(null);
  const v = m ? Number(m[1]) : 0;
  const input = r.inputs.find((i) => i.name === over);
  const clamp = (x: number) => (m?.[2] === input?.unit ? Math.min(input?.most ?? Infinity, Math.max(input?.least ?? -Infinity, x)) : x);
  const auto: [string, string] = [`${+clamp(v ? v * 0.5 : 0).toPrecision(4)} ${m?.[2] ?? ""}`.trim(), `${+clamp(v ? v * 1.8 : 10).toPrecision(4)} ${m?.[2] ?? ""}`.trim()];
  const [from, to] = ends ?? auto;
  useEffect(() => {
    if (!over || !of || !m) return;
    const stop = new AbortController();
    const later = setTimeout(() => post<Plot>("plot", { name: r.name, inputs: given, over, from, to, points: 60, units }, stop.signal).then(setPlot).catch(() => !stop.signal.aborted && setPlot(null)), 250);
    return () => {
      clearTimeout(later);
      stop.abort();
    };
  }, [over, of, from, to, JSON.stringify(given), units]);
  if (!numeric.length || !outs.length) return null;
  const ys = plot?.y[of] ?? [];
  const known = ys.filter((y): y is number => y !== null && Number.isFinite(y));
  const [lo, hi] = [Math.min(...known), Math.max(...known)];
  const W = 520, H = 190;
  const X = (i: number) => 12 + (i / Math.max(1, ys.length - 1)) * (W - 24);
  const Y = (y: number) => H - 26 - ((y - lo) / (hi - lo || 1)) * (H - 48);
  const beyond = plot?.beyond.some(Boolean);
  const line = ys.map((y, i) => (y === null || !Number.isFinite(y) ? "" : `${i && ys[i - 1] !== null ? "L" : "M"}${X(i).toFixed(1)} ${Y(y).toFixed(1)}`)).join("");
  const said = plot?.said?.[of] ?? [];
  const outText = (y: number) => said[ys.indexOf(y)] ?? String(+y.toPrecision(4));
  const at = m && plot?.texts.length ? ys.findIndex((_, i) => (parseFloat(plot.texts[i]) - v) * (parseFloat(plot.texts[Math.max(0, i - 1)]) - v) <= 0) : -1;
  return (
    <section class="noprint">
      <h2>{t("bench.plot.title")}</h2>
      <p class="small">
        <label class="inline">{t("bench.plot.of")} <select value={of} onChange={(e) => setOf(e.currentTarget.value)}>{outs.map((o) => <option value={o}>{titled(o, r.outputs.find((x) => x.name === o)?.help)}</option>)}</select></label>{" "}
        <label class="inline">{t("bench.plot.over")} <select value={over} onChange={(e) => { setOver(e.currentTarget.value); setEnds(null); }}>{numeric.map((i) => <option value={i.name}>{titled(i.name, i.help)}</option>)}</select></label>{" "}
        <label class="inline">{t("bench.plot.from")} <input size={9} value={from} onChange={(e) => setEnds([e.currentTarget.value, to])} /></label>{" "}
        <label class="inline">{t("bench.plot.to")} <input size={9} value={to} onChange={(e) => setEnds([from, e.currentTarget.value])} /></label>
      </p>
      {plot && known.length > 1 && (
        <>
          <svg viewBox={`0 0 ${W} ${H}`} width={W} role="img" aria-label={t("bench.plot", { output: of, input: over })}>
            <path d={`M12 ${H - 26}H${W - 12}M12 12V${H - 26}`} stroke="var(--faint)" fill="none" />
            <path d={line} fill="none" stroke="var(--ink)" stroke-width="2.2" />
            {beyond && ys.map((y, i) => plot.beyond[i] && y !== null && <circle cx={X(i)} cy={Y(y)} r="3" fill="var(--paper)" stroke="var(--soft)" />)}
            {at >= 0 && ys[at] !== null && ys[at] !== undefined && <circle cx={X(at)} cy={Y(ys[at]!)} r="5.5" fill="var(--paper)" stroke="var(--warm)" stroke-width="2.6" />}
            <text class="n" x="16" y="14" font-size="13">{outText(hi)}</text><text class="n" x="16" y={H - 32} font-size="13">{outText(lo)}</text>
            <text class="n" x="12" y={H - 8} font-size="13">{plot.texts[0]}</text><text class="n" x={W - 12} y={H - 8} text-anchor="end" font-size="13">{plot.texts.at(-1)}</text>
          </svg>
          {beyond && <p class="small soft">{t("bench.plot.beyond")}</p>}
          <details><summary class="small soft">{t("bench.plot.table")}</summary><table class="small n"><tbody>{ys.map((y, i) => i % 6 === 0 && <tr><td>{plot.texts[i]}</td><td>{y === null ? "—" : outText(y)}{plot.beyond[i] ? ` (${t("state.beyond")})` : ""}</td></tr>)}</tbody></table></details>
        </>
      )}
    </section>
  );
}
