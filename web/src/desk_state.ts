import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { get, post, Refused, study as stream } from "./api";
import { list, readPlan, word, type PlanText } from "./plan";
import type { Finding, Problem, State, Study } from "./model";
import { makes, ROUTE, routeChanges, type Moves } from "./route";
import { t } from "./texts";

/** One change of the plan; those of one group are tried and taken back together. */
export interface Change {
  key: string; value?: string | string[] | null; was: string; name: string; group?: string;
  add?: Record<string, string | number | boolean | string[]>; remove?: true;
}
export interface Moved { id: string; title: string; before: State | null; after: State | null; margin_before: number | null; margin_after: number | null }
export interface Trial {
  hash: string; after: string; verdict: string; counts: Study["counts"]; findings: Finding[]; ms: number;
  old: Record<string, { state: State; margin: number | null }>; moved: Moved[]; diff: { line: number; old: string; new: string }[];
}
/** What only the whole study computes of a trial that stands still, as it comes. */
export interface Rest { of: string; doing: string; share: number; study: Study | null }
export interface PlanFile { path: string; name: string; hash: string; text: string; undo: number; redo: number; values: { key: string; editable: boolean }[]; problems?: Problem[] }
/** What was typed and could not be taken: the trial stays as it was before. */
export interface Refusal { changes: Change[]; problems: Problem[] }
export interface Conflict { hash: string; mine: string; theirs: string; overlap: string[]; kept: string }

export interface Desk {
  file: PlanFile | null; plan: PlanText | null; study: Study | null; problems: Problem[]; doing: string;
  changes: Change[]; trial: Trial | null; trying: boolean; refused: Refusal | null; forget: () => void; conflict: Conflict | null; note: string;
  propose: (c: Change) => void; moves: Moves; moveFeature: (feature: string, to: string) => void; takeBack: (key: string) => void; drop: () => void; accept: () => void;
  /** Ends the whole study that runs: what is quick stays, the rest is left. */
  stop: () => void; stopped: boolean;
  undo: () => void; redo: () => void; settle: (keepMine: boolean) => void; reload: () => void;
  /** Findings to show: those of the trial where it computed them, with what they were. */
  shown: Finding[]; was: Map<string, Finding>; stale: number;
  /** The rest of the trial on the screen: how far it is, and its study when it is there. */
  rest: Rest | null;
  /** How many findings are in which state, with and without the trial, both reckoned in the same way; null while nothing is tried. */
  tally: { before: Record<State, number>; after: Record<State, number> } | null;
  /** What stood where something was kept, taken back or done again a moment ago. */
  just: Record<string, string>;
  text: (key: string, now: string) => string;
}

const STILL = 600; // ms that a trial stands before the rest of it is asked for
const AFTER = 8000; // ms that what was kept shows what it was before

/** Changes as the server takes them. */
export const asked = (list: Change[]) => list.map(({ key, value, add, remove }) => ({ key, value, add, remove }));
const problemsOf = (e: unknown): Problem[] =>
  e instanceof Refused && e.problems.length ? e.problems : [{ message: e instanceof Error ? e.message : String(e) }];

/** Somebody asked the study to end: no fault, and what was quick stands. */
const isStop = (e: unknown) => e instanceof Refused && e.problems[0]?.what === "stopped";

/** One plan at the desk: its text, its study, the changes being tried. The floor asks for the text alone. */
export function useDesk(path: string, studied = true): Desk {
  const [file, setFile] = useState<PlanFile | null>(null);
  const [study, setStudy] = useState<Study | null>(null);
  const [problems, setProblems] = useState<Problem[]>([]);
  const [changes, setChanges] = useState<Change[]>([]);
  const [moves, setMoves] = useState<Moves>({});
  const [trial, setTrial] = useState<Trial | null>(null);
  const [trying, setTrying] = useState(false);
  const [rest, setRest] = useState<Rest | null>(null);
  const followed = useRef<{ of: string; job: string } | null>(null); // the job of a trial's rest
  const [refused, setRefused] = useState<Refusal | null>(null);
  const movesNow = useRef<Moves>({}), goodMoves = useRef<Moves>({});
  movesNow.current = moves;
  const good = useRef<Change[]>([]); // the changes of the last trial that could be computed
  const [conflict, setConflict] = useState<Conflict | null>(null);
  const [note, setNote] = useState("");
  const [turn, setTurn] = useState(0);
  const [stopped, setStopped] = useState(false);
  const [just, setJust] = useState<{ text: Record<string, string>; study: Study | null }>({ text: {}, study: null });
  const fading = useRef<ReturnType<typeof setTimeout>>();
  const running = useRef(false);
  const wish = useRef<Change[] | null>(null);
  const ownHash = useRef("");
  const pending = useRef<Change[]>([]);
  pending.current = changes;

  const plan = useMemo(() => (file ? readPlan(file.text) : null), [file]);
  useEffect(() => {
    const stop = new AbortController();
    const failed = (e: unknown) => !stop.signal.aborted && (isStop(e) ? setStopped(true) : setProblems(problemsOf(e)));
    setProblems([]);
    setStopped(false);
    setStudy((s) => s && { ...s, job: "" });  // what was computed before is not what a stop would end now
    get<PlanFile>("plan", { path }, stop.signal)
      .then((f) => {
        setFile(f);
        ownHash.current = f.hash;
        const clash = clashOf(f, pending.current);
        if (clash) setConflict(clash);
        else if (pending.current.length) void run(pending.current);
        if (f.problems?.length) setProblems(f.problems);
        return f.problems?.length || !studied ? undefined : stream(path, setStudy, stop.signal);
      })
      .catch(failed);
    return () => stop.abort();
  }, [path, turn]);

  useEffect(() => {
    const stop = new AbortController();
    (async () => {
      while (!stop.signal.aborted && file) {
        try {
          const next = await get<{ hash: string; changed: boolean; by: string }>("changes", { path, after: ownHash.current }, stop.signal);
          if (next.hash !== ownHash.current) {
            ownHash.current = next.hash;
            setNote(t("changed") + (next.by ? ` (${next.by})` : ""));
            setTurn((n) => n + 1);
          }
        } catch {
          await new Promise((later) => setTimeout(later, 4000));
        }
      }
    })();
    return () => stop.abort();
  }, [path, file?.path]);

  /** The job of a trial that this desk looks at no more: named once. */
  const left = () => {
    const job = followed.current?.job;
    followed.current = null;
    return job;
  };
  const leave = (job = left()) => void (job && post("leave", { job }).catch(() => undefined));
  /** While a trial stands still the rest of it streams in; the next trial, or dropping it, ends that. */
  useEffect(() => {
    if (!trial || !study?.done) return;
    if (followed.current?.of !== trial.after) leave();
    const stop = new AbortController(), of = trial.after;
    const follow = async () => {
      if (!followed.current) {
        if (!pending.current.length) return; // dropped while this waited: a trial without changes is none
        // heard to its end: a job that nobody can name computes on for nobody
        const begun = await post<{ job?: string; after: string }>("try", { path, hash: ownHash.current, changes: asked(pending.current), rest: true });
        if (stop.signal.aborted || begun.after !== of) return leave(begun.job);
        if (begun.job) followed.current = { of, job: begun.job };
      }
      const job = followed.current?.job;
      for (let step = -1, done = !job; !done && !stop.signal.aborted; ) {
        const next = await get<{ step: number; doing: string; share: number; done: boolean; study?: Study; problems?: Problem[] }>("study/next", { job, after: step }, stop.signal);
        step = next.step, done = next.done;
        if (done && !next.study) throw new Refused(500, next.problems ?? [], next);
        if (!stop.signal.aborted) setRest({ of, doing: next.doing, share: next.share, study: next.study ?? null });
      }
    };
    const failed = (e: unknown) => { // what is quick stands without it; of a plan that is another by now, the desk hears elsewhere
      if (stop.signal.aborted) return;
      followed.current = null;
      setRest(null);
      if (!isStop(e) && !(e instanceof Refused && e.status === 409)) setProblems(problemsOf(e));
    };
    const later = setTimeout(() => void follow().catch(failed), STILL);
    return () => {
      clearTimeout(later);
      stop.abort();
    };
  }, [trial, study?.done]);
  useEffect(() => () => leave(), [path]);

  /** What is new since the last good trial is set aside, with its error; the trial stays. */
  const refuse = (list: Change[], problems: Problem[]) => {
    const kept = good.current, same = (a: Change, b: Change) => a.key === b.key && String(a.value) === String(b.value);
    const bad = list.filter((c) => !kept.some((k) => same(c, k)));
    setRefused({ changes: bad.length ? bad : list, problems });
    setProblems([]);
    pending.current = kept;
    setChanges(kept);
    setMoves(kept.some((c) => c.group === ROUTE) ? goodMoves.current : {});
  };
  /** One trial at a time: while it runs only the newest wish is kept, so that a drag never queues up work. */
  const run = async (list: Change[]) => {
    wish.current = list;
    if (!list.length) {
      good.current = [];
      setTrial(null);
      setRefused(null);
      setProblems([]);
      leave();
    }
    if (running.current || !file) return;
    running.current = true;
    setTrying(true);
    while (wish.current?.length) {
      const now = wish.current;
      wish.current = null;
      try {
        const answer = await post<Trial>("try", { path, hash: ownHash.current, changes: asked(now), leave: left() });
        if (wish.current === null) setTrial(answer), good.current = now, goodMoves.current = movesNow.current;
        setRefused(null);
        setProblems([]);
      } catch (e) {
        if (e instanceof Refused && e.status === 409) setConflict(e.body);
        else if (e instanceof Refused && e.status === 400 && e.problems.length) {
          if (wish.current === null) refuse(now, e.problems);
        } else setProblems(problemsOf(e));
      }
    }
    running.current = false;
    setTrying(false);
  };
  const put = (list: Change[]) => {
    if (!list.some((c) => c.group === ROUTE)) setMoves({});
    setChanges(list);
    void run(list);
  };
  const drop = () => put([]);
  /** What was there stays in sight for a while beside what is there now. */
  const remember = () => {
    if (!plan) return;
    const text = Object.fromEntries([...plan.leaves].map(([key, l]) => [key, l.text]));
    setJust({ text, study });
    clearTimeout(fading.current);
    fading.current = setTimeout(() => setJust({ text: {}, study: null }), AFTER);
  };
  useEffect(() => () => clearTimeout(fading.current), []);
  const write = (route: string, body: object, said: string) => {
    if (!file) return;
    remember();
    post<{ hash: string }>(route, { path, hash: file.hash, ...body })
      .then((a) => {
        ownHash.current = a.hash;
        pending.current = [];
        good.current = [];
        setRefused(null);
        if (followed.current?.of === a.hash) followed.current = null; // it goes on as the plan's own study
        else leave();
        setChanges([]);
        setMoves({});
        setTrial(null);
        setConflict(null);
        setNote(said);
        setTurn((n) => n + 1);
      })
      .catch((e) => (e instanceof Refused && e.status === 409 ? setConflict(e.body) : setProblems(problemsOf(e))));
  };
  const settle = async (keepMine: boolean) => {
    const fresh = await get<PlanFile>("plan", { path });
    ownHash.current = fresh.hash;
    setFile(fresh);
    setConflict(null);
    if (keepMine) {
      const a = await post<{ hash: string }>("accept", { path, hash: fresh.hash, changes: asked(changes), who: "desk" });
      ownHash.current = a.hash;
    }
    pending.current = [];
    good.current = [];
    setRefused(null);
    leave();
    setChanges([]);
    setMoves({});
    setTrial(null);
    setTurn((n) => n + 1);
  };

  const whole = trial && rest?.of === trial.after ? rest.study : null;
  const { shown, was, stale, tally } = useMemo(() => merge(study, trial, just.study, whole), [study, trial, just, whole]);
  return {
    file, plan, study, problems, stopped, stop: () => void (study?.job && post("stop", { job: study.job }).catch((e) => setProblems(problemsOf(e)))), doing: study?.done === false ? (study.doing ?? "") : "", changes, trial, trying, refused, forget: () => setRefused(null), conflict, note,
    propose: (c) => put([...changes.filter((x) => x.key !== c.key), c].filter((x) => x.group || String(x.value) !== x.was)),
    moves,
    moveFeature: (feature, to) => {
      const next = { ...moves, [feature]: to };
      const home = list(plan?.root, "operation").find((o) => word(o, "id") === to);
      if (home && makes(home, {}).some((m) => m.id === feature)) delete next[feature];
      setMoves(next);
      put([...changes.filter((c) => c.group !== ROUTE), ...routeChanges(plan!, next)]);
    },
    takeBack: (key) => put(changes.filter((c) => c.key !== key)),
    drop, accept: () => write("accept", { changes: asked(changes), who: "desk" }, t("accepted")),
    undo: () => write("undo", { hash: ownHash.current }, t("undone")), redo: () => write("redo", { hash: ownHash.current }, t("redone")),
    settle: (k) => void settle(k).catch((e) => setProblems(problemsOf(e))), reload: () => setTurn((n) => n + 1),
    shown, was, stale, tally, rest: trial && rest?.of === trial.after ? rest : null, just: just.text,
    text: (key, now) => {
      const c = changes.find((x) => x.key === key && !x.add && !x.remove);
      return c ? (Array.isArray(c.value) ? c.value.join("; ") : (c.value ?? "")) : now;
    },
  };
}

/** Changes being tried whose value somebody else changed meanwhile: both are shown, neither is lost. */
function clashOf(f: PlanFile, changes: Change[]): Conflict | null {
  const leaves = readPlan(f.text).leaves;
  const both = changes.filter((c) => (c.add ? false : c.remove ? ![...leaves.keys()].some((k) => k.startsWith(`${c.key}.`)) : (leaves.get(c.key)?.text ?? "") !== c.was));
  if (!both.length) return null;
  return { hash: f.hash, mine: "", theirs: both.map((c) => `${c.key} = ${leaves.get(c.key)?.text ?? "—"}`).join("\n"), overlap: both.map((c) => c.key), kept: "" };
}

/** A trial leaves out what only the whole study computes: those findings stay as they were and are counted as stale, until `rest`, the trial's own whole study, is there. */
function merge(study: Study | null, trial: Trial | null, before: Study | null, rest: Study | null) {
  const was = new Map<string, Finding>();
  if (study && !trial && before && before !== study) {
    const old = new Map(before.findings.map((f) => [f.id, f]));
    for (const f of study.findings) {
      const o = old.get(f.id);
      if (o && o.margin !== f.margin && o.state !== "open" && f.state !== "open") was.set(f.id, o);
    }
  }
  if (!study || !trial) return { shown: study?.findings ?? [], was, stale: 0, tally: null };
  const whole = new Map(study.findings.map((f) => [f.id, f]));
  if (rest) {
    const tally = { before: none(), after: none() };
    for (const f of study.findings) tally.before[f.state]++;
    for (const f of rest.findings) {
      tally.after[f.state]++;
      const b = whole.get(f.id);
      if (b) was.set(f.id, b);
    }
    return { shown: rest.findings, was, stale: 0, tally };
  }
  let stale = 0;
  const shown = trial.findings.map((f) => {
    const before = whole.get(f.id);
    const old = trial.old[f.id];
    if (f.state === "open" && old?.state === "open" && before && before.state !== "open") {
      stale++;
      return before;
    }
    if (before && old) was.set(f.id, { ...before, state: old.state, margin: old.margin });
    return f;
  });
  const tally = { before: none(), after: none() };
  for (const f of shown) tally.after[f.state]++;
  const kept = new Set(shown.map((f) => f.id));
  for (const f of trial.findings) {
    const old = trial.old[f.id], whole_ = whole.get(f.id);
    if (old) tally.before[f.state === "open" && old.state === "open" && whole_ ? whole_.state : old.state]++;
  }
  for (const [id, old] of Object.entries(trial.old)) if (!kept.has(id)) tally.before[old.state]++;
  return { shown, was, stale, tally };
}

const none = (): Record<State, number> => ({ outside: 0, tight: 0, beyond: 0, open: 0, inside: 0 });
