import { useEffect, useRef, useState } from "preact/hooks";
import { get, post, Refused, upload } from "../api";
import type { Problem, State } from "../model";
import { placeOf } from "../store";
import { t, type TextKey } from "../texts";
import { Problems, saidOf } from "../parts/problems";
import { Mark } from "../parts/state";
import { Pick, type Picks } from "../parts/pick";
import { say, type System } from "../units";

interface Question { id: string; words: string; example: string; start: string; why: string; choices: string[]; pick?: "" | "hole" | "face" | "requirement" | "thread" }
interface Begun extends Partial<Picks> { job: string; read: { words: string } | string; questions: Question[] }
/** What one dropped file says by itself, before a part is read. */
interface Look { name: string; words: string[]; problems: Problem[] }
interface Choice { stage: string; about: string; taken: string; why: string; asked_by: string; others: { words: string; why_not: string; take: string; no_answer?: string }[] }
interface Proposal { n: number; name: string; why: string; counts: Record<State, number>; verdict: string; cost: number | null; currency: string; look_at: string[]; choices: Choice[] }

const problemsOf = (e: unknown): Problem[] => (e instanceof Refused && e.problems.length ? e.problems : [{ message: String((e as Error).message ?? e) }]);
/** Handed from the drop to the questions; a page that is loaded again in this tab finds it again. */
let begun: Begun | null = null;
let folder = "";
const KEPT = "fettle.begun";
function keep(): void {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify({ begun, folder }));
  } catch {
    /* then only while the page stays open */
  }
}
function recall(job: string): void {
  if (begun) return;
  try {
    const old = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
    if (old?.begun?.job === job) [begun, folder] = [old.begun, old.folder];
  } catch {
    /* nothing was kept */
  }
}
const capital = (x: string) => x.charAt(0).toUpperCase() + x.slice(1);
/** What was answered of that drop in this tab. */
const ANSWERS = "fettle.answers";
function answered(job: string): Record<string, string> {
  try {
    const old = JSON.parse(sessionStorage.getItem(ANSWERS) ?? "null");
    return old?.job === job ? old.answers : {};
  } catch {
    return {};
  }
}
function keepAnswers(job: string, answers: Record<string, string>): void {
  try {
    sessionStorage.setItem(ANSWERS, JSON.stringify({ job, answers }));
  } catch {
    /* then only while the page stays open */
  }
}

/** The question that a problem belongs to: the server's words begin with its name. */
const questionOf = (p: Problem, questions: Question[]) => questions.find((q) => saidOf(p).startsWith(`${q.id}: `))?.id ?? "";

const slots = ["part", "cast", "table"] as const, lists = ["tools", "holders", "times"] as const, looked = ["shop", "table", ...lists] as const;
/** Where a dropped file belongs, by its name; whoever named it otherwise chooses the field. */
const listOf = (name: string) => (/hold/i.test(name) ? "holders" : /tool/i.test(name) ? "tools" : /time|watch/i.test(name) ? "times" : "table");
const slotOf = (f: File, taken: Record<string, File | undefined>) => (/\.toml$/i.test(f.name) ? "shop" : /\.(csv|txt)$/i.test(f.name) ? listOf(f.name) : !taken.part && !/cast/i.test(f.name) ? "part" : "cast");

/** Files dropped or chosen: the part's model, then perhaps a casting, a table of measured castings, a shop file, its lists. */
export function Drop({ shops }: { shops: string[] }) {
  const [files, setFiles] = useState<Record<string, File | undefined>>({});
  const [shop, setShop] = useState("");
  const [over, setOver] = useState(false);
  const [more, setMore] = useState(false);
  const [busy, setBusy] = useState(false);
  const [problems, setProblems] = useState<Problem[]>([]);
  const [looks, setLooks] = useState<Record<string, Look>>({});
  const [looking, setLooking] = useState(false);
  const named = shop || shops[0] || "";
  const formOf = (fields: readonly string[]) => {
    const form = new FormData();
    for (const s of fields) if (files[s]) form.append(s, files[s]!);
    if (!files.shop && named) form.append("shop", named);
    return form;
  };
  const take = (list: FileList | null) => {
    const next = { ...files };
    for (const f of Array.from(list ?? [])) next[slotOf(f, next)] = f;
    setFiles(next);
  };
  const wanted = useRef(0);
  // what can be read without the part is read at once: a slip is shown where it was made
  useEffect(() => {
    const own = ++wanted.current;
    if (!looked.some((s) => files[s])) return setLooks({});
    setLooking(true);
    upload<{ files: Record<string, Look> }>("begin/look", formOf(looked))
      .then((a) => own === wanted.current && (setLooks(a.files), setProblems([])))
      .catch((e) => own === wanted.current && (setLooks({}), setProblems(problemsOf(e))))
      .finally(() => own === wanted.current && setLooking(false));
  }, [...looked.map((s) => files[s]), named]);
  const go = async () => {
    setBusy(true);
    setProblems([]);
    try {
      const form = formOf([...slots, ...lists, "shop"]);
      folder = files.part!.name.replace(/\.[^.]*$/, "").toLowerCase().replace(/[^a-z0-9-]+/g, "-");
      form.append("into", folder);
      begun = await upload<Begun>("begin", form);
      keep();
      location.hash = placeOf("begin", begun.job);
    } catch (e) {
      setProblems(problemsOf(e));
    }
    setBusy(false);
  };
  const field = (s: string, label: TextKey, accept: string) => (
    <div class="field">
      <label>{t(label)}<input type="file" accept={accept} onChange={(e) => setFiles({ ...files, [s]: e.currentTarget.files?.[0] })} />
        {files[s] && <span class="hint n">{files[s]!.name}</span>}</label>
      {files[s] && <Said look={looks[s]} busy={looking && (looked as readonly string[]).includes(s)} />}
    </div>
  );
  const wrong = looked.some((s) => files[s] && looks[s]?.problems.length);
  return (
    <div class={`drop${over ? " over" : ""}`} onDragOver={(e) => { e.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)}
      onDrop={(e) => { e.preventDefault(); setOver(false); take(e.dataTransfer?.files ?? null); }}>
      <h2>{t("start.drop")}</h2>
      <p class="soft">{t("start.drop.hint")}</p>
      <div class="fields">
        {slots.map((s) => field(s, `start.${s}`, s === "table" ? ".csv,.txt" : ".step,.stp,.p21"))}
        <label>{t("start.shop")}<select value={named} disabled={!!files.shop || !shops.length} onChange={(e) => setShop(e.currentTarget.value)}>{shops.length ? shops.map((s) => <option key={s} value={s}>{s}</option>) : <option key="" value="">{t("start.noshop")}</option>}</select></label>
        {field("shop", "start.ownshop", ".toml")}
        {lists.some((s) => files[s]) || more ? lists.map((s) => field(s, `start.${s}`, ".csv,.txt"))
          : <p><button type="button" class="plain" onClick={() => setMore(true)}>{t("start.lists")}</button></p>}
      </div>
      <p><button class="go" disabled={!files.part || busy || wrong || !(files.shop || named)} onClick={() => void go()}>{busy ? t("begin.reading") : t("start.begin")}</button></p>
      <Problems problems={problems} />
    </div>
  );
}

/** What was read of a file, or why it could not be, below its field. */
function Said({ look, busy }: { look?: Look; busy: boolean }) {
  if (!look) return busy ? <p class="soft small" role="status">{t("start.looking")}</p> : null;
  if (look.problems.length) return <Problems problems={look.problems} />;
  return <p class="soft small" role="status">{t("start.read", { what: look.words.join("; ") })}</p>;
}

/** Questions, then proposals with what was chosen and why. */
export function BeginView({ job, units: wanted }: { job: string; units: System | "plan" }) {
  const [answers, setAnswers] = useState(() => answered(job));
  useEffect(() => keepAnswers(job, answers), [answers]);
  const [proposals, setProposals] = useState<Proposal[] | null>(null);
  const [doing, setDoing] = useState("");
  const [running, setRunning] = useState(false);
  const [problems, setProblems] = useState<Problem[]>([]);
  const stop = useRef(new AbortController()), working = useRef(""), unwanted = useRef(false);
  useEffect(() => () => stop.current.abort(), []);
  recall(job);
  const questions = begun?.job === job ? begun.questions : null;
  const top = useRef<HTMLHeadingElement>(null);
  // the key that was pressed is off while plans are made: the focus goes to what came of it
  useEffect(() => {
    if (running || !(problems.length || proposals)) return;
    const first = questions?.find((q) => problems.some((p) => questionOf(p, questions) === q.id));
    (first ? document.getElementById(`q-${first.id}`) : top.current)?.focus();
  }, [problems, proposals, running]);
  /** What was stopped before the server has named it is stopped as soon as it has. */
  const end = () => {
    unwanted.current = true;
    if (working.current) void post("stop", { job: working.current }).catch((e) => setProblems(problemsOf(e)));
  };
  const go = async (more: Record<string, string> = {}) => {
    working.current = "", unwanted.current = false;
    const all = { ...answers, ...more };
    setAnswers(all);
    setRunning(true);
    setProblems([]);
    setProposals(null);
    scrollTo(0, 0); // how it goes, and then the proposals, stand at the top
    try {
      const given = Object.fromEntries(Object.entries(all).filter(([, v]) => v.trim()));
      const started = await post<{ job: string }>("begin/answers", { job, answers: given });
      working.current = started.job ?? job;
      if (unwanted.current) end();
      let after = 0;
      for (;;) {
        const next = await get<any>("begin/next", { job: started.job ?? job, after }, stop.current.signal);
        after = next.step;
        setDoing(next.doing ?? "");
        if (next.problems?.length) throw new Refused(400, next.problems, next);
        if (next.done) {
          setProposals(next.proposals ?? []);
          break;
        }
      }
    } catch (e) {
      if (!stop.current.signal.aborted) setProblems(problemsOf(e));
    }
    setRunning(false);
  };
  const from: System = begun?.units ?? "metric", units = wanted === "plan" ? from : wanted;
  const picks = begun?.features && begun.views ? (begun as Picks) : null;
  const s = (x: string) => say(x, from, units);
  const take = (p: Proposal) =>
    post<{ path: string }>("begin/take", { job, n: p.n, into: `${folder || "first"}/plan-${p.n}.toml` })
      .then((a) => (location.hash = placeOf("desk", a.path))).catch((e) => setProblems(problemsOf(e)));
  if (!questions) return <main id="content"><h1>{t("begin.title")}</h1><p><a href={placeOf("start")}>{t("start.drop")}</a></p></main>;
  const words = typeof begun!.read === "string" ? begun!.read : begun!.read?.words;
  // what is to give next is asked right below, not in the words of the command line
  const lines = (Array.isArray(words) ? (words as string[]) : [words ?? ""]).filter((x) => x && !/^to give next/.test(x));
  return (
    <main id="content">
      <h1 ref={top} tabIndex={-1}>{proposals ? t("begin.proposals") : t("begin.title")}</h1>
      <details open={!proposals}>
        <summary class="soft">{t("begin.read")}</summary>
        <ul class="soft">{lines.map((x) => <li>{s(x)}</li>)}</ul>
      </details>
      <Problems problems={problems.filter((p) => !questionOf(p, questions))} />
      <p role="status">{running ? t("begin.progress", { what: doing || t("loading") }) : ""}</p>
      {running && <p><button onClick={end}>{t("begin.stop")}</button></p>}
      {proposals?.map((p) => (
        <section class="proposal" aria-label={t("begin.proposal", { n: p.n })}>
          <h2>{p.n}. {p.name}</h2>
          <p>{s(p.verdict || p.why)}</p>
          <p>{(["outside", "tight", "beyond", "open", "inside"] as State[]).map((s) => <span class="small">{p.counts?.[s] !== undefined && <><Mark state={s} /> {p.counts[s]} {t(`state.${s}`)} </>}</span>)}{p.cost != null && <b class="n"> {t("finding.cost", { cost: `${p.cost.toFixed(2)} ${p.currency ?? ""}` })}</b>}</p>
          {p.verdict && <p class="soft">{s(p.why)}</p>}
          {p.look_at?.length > 0 && <><b>{t("begin.look")}:</b><ul>{p.look_at.map((x) => <li>{s(x)}</li>)}</ul></>}
          <details>
            <summary>{t("begin.choices")} ({p.choices?.length ?? 0})</summary>
            <ul class="list">{p.choices?.map((c) => (
              <li class="question"><span><b>{c.about}: {s(c.taken)}</b><br /><span class="soft small">{s(c.why)} {c.asked_by && `(${s(c.asked_by)})`}</span></span>
                <span>{c.others?.map((o) => <span class="small">{t("begin.instead", { what: s(o.words) })} <span class="soft">{s(o.why_not)}</span> {o.take && <button class="plain" onClick={() => { const [k, v] = o.take.split("="); void go({ [k]: v }); }}>{t("begin.takeinstead")}</button>}{!o.take && o.no_answer && <i class="soft">{t("begin.notake", { why: s(o.no_answer) })}</i>}<br /></span>)}</span></li>
            ))}</ul>
          </details>
          <p><button class="go" onClick={() => take(p)}>{t("begin.take")}</button></p>
        </section>
      ))}
      <h2>{t("begin.questions", { n: questions.length })}</h2>
      <p class="soft small">{t("begin.open")}</p>
      <form onSubmit={(e) => { e.preventDefault(); void go(); }}>
        {questions.map((q) => {
          const wrong = problems.filter((p) => questionOf(p, questions) === q.id);
          const marked = wrong.length ? { "aria-invalid": true, "aria-describedby": `wrong-${q.id}` } as const : {};
          return <div class="question">
            <label for={`q-${q.id}`}>{q.words}<br /><span class="soft small">{t("begin.why", { why: q.why })}</span></label>
            <span>
              {q.choices?.length ? (
                <select id={`q-${q.id}`} {...marked} value={answers[q.id] ?? ""} onChange={(e) => setAnswers({ ...answers, [q.id]: e.currentTarget.value })}><option value="">—</option>{q.choices.map((c) => <option>{c}</option>)}</select>
              ) : (
                <input id={`q-${q.id}`} {...marked} value={answers[q.id] ?? ""} placeholder={q.start || q.example} onInput={(e) => setAnswers({ ...answers, [q.id]: e.currentTarget.value })} />
              )}
              {wrong.length > 0 && <span class="refusal" id={`wrong-${q.id}`} role="alert">{wrong.map((p) => capital(s(saidOf(p).slice(q.id.length + 2)))).join("; ")}</span>}
              <span class="soft small">{q.start ? t("begin.else", { value: q.start }) : t("bench.example", { value: q.example })}</span>
            </span>
            {q.pick && picks && <Pick picks={picks} kind={q.pick} question={q.id} example={q.example} value={answers[q.id] ?? ""} set={(v) => setAnswers({ ...answers, [q.id]: v })} units={units} />}
          </div>;
        })}
        <p><button class="go" disabled={running}>{t("begin.answer")}</button></p>
      </form>
    </main>
  );
}
