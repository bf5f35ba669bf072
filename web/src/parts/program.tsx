import { useEffect, useMemo, useState } from "preact/hooks";
import { get, post } from "../api";
import type { Problem } from "../model";
import { Problems } from "./problems";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { at, bars, clock, endOf, joined, moveAt, palletOf, takings, type Fault, type Move, type Run } from "../run";
import { stateRank } from "../model";
import { Mark } from "./state";

interface Props { trial?: boolean; run: Run; units: System; from: System; time: number; setTime: (s: number) => void }

const W = 640, PAD = 8; // the slider's thumb stands under the mark
const AROUND = 5;

interface DoorProps {
  path: string; hash: string; op: string; units: System; from: System; run: Run | null; setRun: (r: Run | null) => void; time: number; setTime: (s: number) => void;
  /** What is tried now, as the server takes it, and of which trial the program on the screen is; both empty: of the file. */
  tried: string; of: string; setOf: (tried: string) => void;
}

/** Asks for the program of an operation when somebody wants to see it; a plan that changes makes it old. */
export function ProgramDoor({ path, hash, op, units, from, run, setRun, tried, of, setOf, time, setTime }: DoorProps) {
  const [wanted, want] = useState(false);
  const [busy, setBusy] = useState(false);
  const [problems, setProblems] = useState<Problem[]>([]);
  useEffect(() => { if (!tried && of) setOf(""); }, [tried, of]);
  useEffect(() => {
    if (!wanted) return setRun(null);
    const stop = new AbortController();
    setProblems([]);
    setBusy(true);
    (of ? post<Run>("program", { path, hash, operation: op, changes: JSON.parse(of) }, stop.signal) : get<Run>("program", { path, operation: op }, stop.signal))
      .then(setRun).catch((e) => !stop.signal.aborted && (setRun(null), setProblems(e.problems?.length ? e.problems : [{ message: String(e.message ?? e) }]))).then(() => !stop.signal.aborted && setBusy(false));
    return () => stop.abort();
  }, [wanted, path, hash, op, of]);
  if (!wanted) return <p class="noprint"><button onClick={() => want(true)}>{t("program.open")}</button></p>;
  const state = !tried && !of ? "" : of === tried ? "now" : of ? "earlier" : "file";
  return (
    <div class="noprint">
      <Problems problems={problems} />
      {state && (
        <div class="notice" role="status">
          <b>{t(`program.of.${state}` as TextKey)}</b> {busy ? t("loading") : t(state === "now" && run?.from === "plan" ? "program.of.lines" : `program.of.${state}.means` as TextKey)}
          <p>{state !== "now" && <button disabled={busy} onClick={() => setOf(tried)}>{t("program.of.make")}</button>} {of && <button disabled={busy} onClick={() => setOf("")}>{t("program.of.back")}</button>}</p>
        </div>
      )}
      {run && run.moves.length > 0 ? <ProgramStrip run={run} units={units} from={from} time={time} setTime={setTime} trial={state === "now"} /> : !problems.length && <p role="status">{run ? t("program.empty") : t("loading")}</p>}
      <p><button onClick={() => want(false)}>{t("program.close")}</button></p>
    </div>
  );
}

/** A program without a pallet under it: its way in plan, over the parts where they lie. `part`: mm, as it lies in the operation. */
export function TrackAlone({ run, time, part, old }: { old?: boolean; run: Run; time: number; part: number[] }) {
  const [w, h] = part;
  const parts = (run.nests ?? []).flatMap((n) => {
    const row = Number(/row of (\d+)/.exec(n.words)?.[1] ?? 1); // in one vise they stand one behind the other
    return Array.from({ length: row }, (_, i) => ({ x: n.at[0] * 1e3, y: n.at[1] * 1e3 + (i - (row - 1) / 2) * h, turn: (n.turn * 180) / Math.PI, words: row > 1 ? String(i + 1) : n.id }));
  });
  const near = run.moves.filter((m) => m.nest && m.kind === "feed");
  const span = (own: number[], half: number, at: number[]) => [Math.min(...own, ...at.map((v) => v - half)) - 10, Math.max(...own, ...at.map((v) => v + half)) + 10];
  const [x0, x1] = span(near.map((m) => m.to[0] * 1e3), w / 2, parts.map((p) => p.x)), [y0, y1] = span(near.map((m) => m.to[1] * 1e3), h / 2, parts.map((p) => p.y));
  const k = Math.min(600 / (x1 - x0), 420 / (y1 - y0));
  const X = (x: number) => (x - x0) * k, Y = (y: number) => (y1 - y) * k;
  return (
    <figure>
      <svg viewBox={`0 0 ${X(x1)} ${Y(y0)}`} width={X(x1)} role="img" aria-label={t("program.track")}>
        {parts.map((p) => (
          <g transform={`rotate(${-p.turn} ${X(p.x)} ${Y(p.y)})`}>
            <rect x={X(p.x - w / 2)} y={Y(p.y + h / 2)} width={w * k} height={h * k} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.4" />
            <text x={X(p.x)} y={Y(p.y) + 6} text-anchor="middle" font-weight="700" font-size="17">{p.words}</text>
          </g>
        ))}
        <Track run={run} time={time} X={X} Y={Y} k={k} old={old} />
      </svg>
    </figure>
  );
}

/** A program on the desk: time by tool and nest on one line, the lines, and the tool wherever the hand puts it. */
export function ProgramStrip({ run, units, from, time, setTime, trial }: Props) {
  const rows = useMemo(() => bars(run), [run]);
  const step = moveAt(run, time), m: Move = run.moves[step];
  const tool = run.tools[m.tool];
  const here = at(run, time);
  const taken = useMemo(() => takings(run, W / 2), [run]), most = Math.max(...taken);
  const faults = useMemo(() => (run.findings ?? []).filter((f) => f.state === "outside" && f.line > 0).flatMap((f) => run.moves.find((x) => x.line === f.line && (!f.nest || x.nest === f.nest || x.nest.endsWith(f.nest.split(" ").pop() ?? "?"))) ?? []), [run]);
  const X = (s: number) => PAD + (s / (run.total || 1)) * (W - 2 * PAD);
  const setStep = (i: number) => setTime(endOf(run, Math.max(0, Math.min(run.moves.length - 1, i))));
  const mm = (v: number, places = 2) => say(`${(v * 1e3).toFixed(places)} mm`, "metric", units);
  const where = t("program.at", { x: mm(here.x), y: mm(here.y), z: mm(here.z) });
  const kind = t(m.probe ? "program.probe" : (`program.${m.kind}` as TextKey));
  const said = t("program.said", { line: m.line, tool: tool?.name ?? "—", nest: m.nest || "—", kind, time: clock(time), total: clock(run.total) });
  return (
    <section class="program" aria-label={t("program.title", { file: run.file })}>
      <svg viewBox={`0 -10 ${W} ${most > 0 ? 126 : 88}`} width="100%" role="img" aria-label={t("program.bar", { n: rows.tools.length, total: clock(run.total) })}>
        {rows.tools.map((b, i) => {
          const wide = X(b.to) - X(b.from);
          return (
            <g>
              <rect onClick={() => setTime(b.from)} x={X(b.from)} y="6" width={Math.max(0.8, wide)} height="26" fill={i % 2 ? "url(#skin)" : "var(--sheet)"} stroke="var(--ink)" stroke-width="1.3"><title>{`${b.name}: ${clock(b.to - b.from)}`}</title></rect>
              {wide > 9 * b.name.length + 6 && <text class="n" x={X(b.from) + wide / 2} y="24" text-anchor="middle" font-size="14" font-weight={run.tools[m.tool]?.name === b.name ? 700 : 400}>{b.name}</text>}
            </g>
          );
        })}
        {rows.nests.map((b) => {
          const short = b.name.split(".").pop()!, wide = X(b.to) - X(b.from), second = Number(palletOf(b.name)) % 2 === 0 && palletOf(b.name);
          return <g><rect x={X(b.from)} y="36" width={Math.max(0.5, wide)} height="16" fill={b.name === m.nest ? "var(--faint)" : second ? "url(#skin)" : "none"} stroke="var(--soft)" stroke-width=".7"><title>{nestWords(b.name)}</title></rect>{wide > 7 * short.length + 2 && <text class="n" x={(X(b.from) + X(b.to)) / 2} y="48" text-anchor="middle" font-size="11">{short}</text>}</g>;
        })}
        {faults.map((f) => <path d={`M${X(f.start)} 5l-5 -9h10z`} fill="var(--warm)"><title>{t("program.line", { line: f.line })}</title></path>)}
        {most > 0 && (
          <g>
            <path d={`M${PAD} 112${taken.map((v, i) => `L${X((i / taken.length) * run.total).toFixed(1)} ${(112 - (v / most) * 28).toFixed(1)}H${X(((i + 1) / taken.length) * run.total).toFixed(1)}`).join("")}V112Z`} fill="url(#tight)" stroke="var(--ink)" stroke-width=".8" />
            <text x={PAD} y="78" font-size="12">{t("program.taken", { most: say(`${(most * 6e7).toPrecision(2)} cm³/min`, "metric", units) })}</text>
          </g>
        )}
        <path d={`M${X(time)} 0V56m-6 8l6 -8 6 8z${most > 0 ? `M${X(time)} 64V112` : ""}`} stroke="var(--warm)" stroke-width="2" fill="var(--warm)" />
        <text class="n" x={PAD} y="66" font-size="12">0:00</text><text class="n" x={W - PAD} y="66" font-size="12" text-anchor="end">{clock(run.total)}</text>
      </svg>
      <label class="unseen" for={`scrub-${run.file}`}>{t("program.scrub")}</label>
      <input id={`scrub-${run.file}`} type="range" class="scrub" min="0" max={run.total} step="any" value={time} aria-valuetext={said} onInput={(e) => setTime(Number(e.currentTarget.value))}
        onKeyDown={(e) => {
          // the arrows go from move to move, Page up and down from tool to tool
          const next = { ArrowRight: step + 1, ArrowUp: step + 1, ArrowLeft: step - 1, ArrowDown: step - 1, Home: 0, End: run.moves.length - 1 }[e.key]
            ?? (e.key === "PageDown" ? run.moves.findIndex((x, i) => i > step && x.tool !== m.tool) : e.key === "PageUp" ? last(run.moves, step, (x) => x.tool !== m.tool) : undefined);
          if (next === undefined) return;
          e.preventDefault();
          if (next >= 0) setStep(next);
        }} />
      <p class="where" role="status"><b class="n">{tool?.name ?? "—"}</b> {say(tool?.words, from, units)} · {m.nest ? nestWords(m.nest) : t("program.nonest")} · {kind}{m.feed > 0 && m.kind !== "rapid" ? <> <span class="n">{say(`${Math.round(m.feed * 6e4)} mm/min`, "metric", units)}</span></> : null} · <span class="n">{clock(time)} / {clock(run.total)}</span><br />
        <span class="n soft">{m.nest ? where : "\u00a0"}</span>{m.engaged !== undefined && <> · {t("program.engaged")} <span class="n">{say(m.engaged, from, units)}</span></>}</p>
      <Lines run={run} line={m.line} pick={(line) => { const i = run.moves.findIndex((x) => x.line >= line); if (i >= 0) setStep(i); }} />
      <Faults run={run} units={units} from={from} pick={(line) => { const i = run.moves.findIndex((x) => x.line >= line); if (i >= 0) setStep(i); }} />
      <Times run={run} />
      <p class="soft small">{t(run.from === "plan" ? "program.from.plan" : trial ? "program.from.trial" : "program.from.made", { file: run.file })}{run.timed === false && ` ${t("program.untimed")}`}</p>
      {(run.missing?.length ?? 0) > 0 && <p class="small"><b>{t("program.missing")}</b> {run.missing!.join("; ")}</p>}
      {run.notes.map((n) => <p class="soft small">{n}</p>)}
      {(run.not_looked_at?.length ?? 0) > 0 && <p class="soft small">{t("desk.notlooked", { what: run.not_looked_at!.join("; ") })}</p>}
      <p class="small heedline">{run.caution ?? t("program.heed")}</p>
    </section>
  );
}

const nestWords = (nest: string) => {
  const [a, b] = nest.split(".");
  return b ? t("program.nest", { pallet: a, nest: b }) : t("draw.nest", { n: a });
};

const FIRST = 8;

/** What the proof on paper found, each with its line. */
function Faults({ run, units, from, pick }: { run: Run; units: System; from: System; pick: (line: number) => void }) {
  const [all, setAll] = useState(false);
  if (!run.counts) return null;
  const rows: Fault[] = [...(run.findings ?? [])].sort((a, b) => stateRank(a.state) - stateRank(b.state) || a.line - b.line);
  const left = (run.left_out?.findings ?? 0) + (all ? 0 : Math.max(0, rows.length - FIRST));
  return (
    <>
      <h3 class="soft small">{t("program.proof", run.counts)}</h3>
      <ul class="hurts">{(all ? rows : rows.slice(0, FIRST)).map((f) => (
        <li><button onClick={() => f.line && pick(f.line)}><Mark state={f.state} /><span>{f.line > 0 && <b class="n">{t("program.line", { line: f.line })} </b>}{f.title}{f.state === "outside" && f.sentence ? <span class="soft">: {say(f.sentence.replace(`Line ${f.line}: `, ""), from, units)}</span> : f.missing.length > 0 && <span class="soft">: {f.missing.map((x) => say(x, from, units)).join("; ")}</span>}</span></button></li>
      ))}</ul>
      {left > 0 && !all && <p><button class="plain" onClick={() => setAll(true)}>{t("desk.more", { n: left })}</button></p>}
    </>
  );
}

function last(all: Move[], before: number, is: (m: Move) => boolean): number {
  let i = before - 1;
  while (i >= 0 && !is(all[i])) i--;
  if (i < 0) return 0;
  const tool = all[i].tool;
  while (i > 0 && all[i - 1].tool === tool) i--;
  return i;
}

/** The lines around the one that runs. */
function Lines({ run, line, pick }: { run: Run; line: number; pick: (line: number) => void }) {
  const first = Math.max(1, Math.min(line - AROUND, run.text.length - 2 * AROUND));
  const rows = run.text.slice(first - 1, first + 2 * AROUND);
  if (!rows.length) return null;
  return (
    <ol class="code n" start={first} aria-label={t("program.lines")}>
      {rows.map((text, i) => <li class={first + i === line ? "now" : ""} aria-current={first + i === line ? "step" : undefined}><button class="plain" onClick={() => pick(first + i)}><span class="soft">{first + i}</span> {text || " "}</button></li>)}
    </ol>
  );
}

/** Minutes of each tool at each nest, as a table for those who read rather than look. */
function Times({ run }: { run: Run }) {
  const nests = [...new Set(run.moves.map((m) => m.nest).filter(Boolean))].sort((a, b) => a.localeCompare(b, "en", { numeric: true }));
  const cell = (tool: number, nest: string) => run.moves.reduce((s, m) => s + (m.tool === tool && m.nest === nest ? m.seconds : 0), 0);
  const tools = run.tools.map((x, i) => ({ ...x, i, all: run.moves.reduce((s, m) => s + (m.tool === i ? m.seconds : 0), 0) })).filter((x) => x.all > 0);
  return (
    <details>
      <summary class="soft small">{t("program.times")}</summary>
      <div class="wide"><table class="small"><thead><tr><th scope="col">{t("program.tool")}</th>{nests.map((n) => <th scope="col">{nestWords(n)}</th>)}<th scope="col">{t("program.between")}</th><th scope="col">{t("program.sum")}</th></tr></thead><tbody>
        {tools.map((x) => <tr><th scope="row"><span class="n">{x.name}</span> {x.words}</th>{nests.map((n) => <td class="n">{clock(cell(x.i, n))}</td>)}<td class="n">{clock(cell(x.i, ""))}</td><td class="n strong">{clock(x.all)}</td></tr>)}
        <tr><th scope="row">{t("program.sum")}</th>{nests.map((n) => <td class="n">{clock(run.moves.reduce((s, m) => s + (m.nest === n ? m.seconds : 0), 0))}</td>)}<td /><td class="n strong">{clock(run.total)}</td></tr>
      </tbody></table></div>
    </details>
  );
}

/** Where the tool goes and where it is, on a drawing in plan: (x, y) in m to the drawing's own units. */
export function Track({ run, time, X, Y, k, Z, old }: { /** not that of what is tried now */ old?: boolean; run: Run; time: number; X: (mm: number) => number; Y: (mm: number) => number; k: number; Z?: (mm: number) => number }) {
  const here = at(run, time), tool = run.moves[here.i]?.tool, pallet = palletOf(run.moves[here.i]?.nest ?? "");
  const { feed, rapid } = useMemo(() => {
    let feed = "", rapid = "";
    run.moves.forEach((m, i) => {
      if (m.tool !== tool || !joined(run, i) || palletOf(m.nest) !== pallet) return;
      const a = run.moves[i - 1].to, b = m.to;
      const piece = `M${X(a[0] * 1e3).toFixed(1)} ${Y(a[1] * 1e3).toFixed(1)}L${X(b[0] * 1e3).toFixed(1)} ${Y(b[1] * 1e3).toFixed(1)}`;
      if (m.kind === "rapid") rapid += piece;
      else feed += piece;
    });
    return { feed, rapid };
  }, [run, tool, pallet, k]);
  const r = Math.max(3, ((run.tools[tool ?? 0]?.diameter ?? 0) / 2) * 1e3 * k);
  const known = !!run.moves[here.i]?.nest; // between nests, at the changer, nobody knows where on the drawing
  const aside = Math.min(64, Math.max(12, (run.tools[tool ?? 0]?.long ?? 0) * 1e3 * k)); // from the side: no higher than there is room
  return (
    <g class="track" pointer-events="none">
      <path d={rapid} fill="none" stroke="var(--soft)" stroke-width=".9" stroke-dasharray="5 4" />
      <path d={feed} fill="none" stroke={old ? "var(--soft)" : "var(--warm)"} stroke-width="1.5" stroke-dasharray={old ? "2 3" : undefined} />
      {known && <>
      <circle cx={X(here.x * 1e3)} cy={Y(here.y * 1e3)} r={r} fill="var(--sheet)" fill-opacity=".75" stroke="var(--warm)" stroke-width="2.4" stroke-dasharray={run.moves[here.i]?.kind === "rapid" ? "5 3" : undefined} />
      <path d={`M${X(here.x * 1e3) - r - 5} ${Y(here.y * 1e3)}h${2 * r + 10}m${-r - 5} ${-r - 5}v${2 * r + 10}`} stroke="var(--warm)" stroke-width="1.2" />
      {Z && <rect x={X(here.x * 1e3) - r} y={Z(here.z * 1e3) - aside} width={2 * r} height={aside} fill="var(--sheet)" fill-opacity=".75" stroke="var(--warm)" stroke-width="2" />}
      <text class="n hot" x={X(here.x * 1e3) + r + 5} y={Y(here.y * 1e3) - r - 3} font-size="14" font-weight="700">{run.tools[tool ?? 0]?.name}</text>
      </>}
    </g>
  );
}
