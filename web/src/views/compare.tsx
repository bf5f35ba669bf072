import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import type { Finding, Problem, State } from "../model";
import { placeOf } from "../store";
import { t } from "../texts";
import { MarginBar, Mark } from "../parts/state";
import { Problems } from "../parts/problems";
import type { Plans } from "./start";

interface Moved { id: string; title: string; before: State | null; after: State | null; margin_before: number | null; margin_after: number | null }
interface Diff { changes: { key: string; path?: string; from: string | null; to: string | null }[]; moved: Moved[] }

const m = (x: number | null) => (x === null || x === undefined ? "—" : (x < 0 ? "−" : "+") + Math.abs(x).toFixed(2));

const side = (margin: number | null, state: State) => ({ margin, state }) as Finding;

/** Two plans: only what differs, in their words and in their margins. */
export function CompareView({ a, b }: { a: string; b: string }) {
  const [plans, setPlans] = useState<Plans | null>(null);
  const [diff, setDiff] = useState<Diff | null>(null);
  const [problems, setProblems] = useState<Problem[]>([]);
  useEffect(() => void get<Plans>("plans").then(setPlans).catch(() => {}), []);
  useEffect(() => {
    setDiff(null);
    setProblems([]);
    if (!a || !b) return;
    const stop = new AbortController();
    get<Diff>("diff", { a, b }, stop.signal).then(setDiff).catch((e) => !stop.signal.aborted && setProblems(e.problems?.length ? e.problems : [{ message: String(e.message ?? e) }]));
    return () => stop.abort();
  }, [a, b]);
  const pick = (x: string, y: string) => (location.hash = placeOf("compare", "", { a: x, b: y }));
  const choose = (id: string, now: string, put: (v: string) => void) => (
    <label for={id}>{t(id === "a" ? "compare.a" : "compare.b")}<br /><select id={id} value={now} onChange={(e) => put(e.currentTarget.value)}><option value="">—</option>{plans?.plans.map((p) => <option value={p.path}>{p.name} ({p.path})</option>)}</select></label>
  );
  const worse = (x: Moved) => (x.margin_after ?? -99) < (x.margin_before ?? -99);
  return (
    <main id="content">
      <h1>{t("compare.title")}</h1>
      <div class="filters">{choose("a", a, (v) => pick(v, b))} {choose("b", b, (v) => pick(a, v))}</div>
      <Problems problems={problems} />
      {a && b && !diff && !problems.length && <p role="status">{t("loading")}</p>}
      {diff && (
        <>
          <h2>{t("compare.moved")} ({diff.moved.length})</h2>
          {!diff.moved.length && <p>{t("compare.same")}</p>}
          <table class="compared"><thead><tr><th scope="col">{t("col.what")}</th><th scope="col">{a}</th><th scope="col">{b}</th><th scope="col">{t("compare.bars", { a, b })}</th><th scope="col">{t("col.margin")}</th></tr></thead><tbody>
            {diff.moved.map((x) => (
              <tr><td>{x.title}<br /><span class="soft small n">{x.id}</span></td>
                <td>{x.before ? <><Mark state={x.before} /> {t(`state.${x.before}`)}</> : t("compare.only", { plan: b })}</td>
                <td>{x.after ? <><Mark state={x.after} /> {t(`state.${x.after}`)}</> : t("compare.only", { plan: a })}</td>
                <td class="bar">{x.after && <MarginBar finding={side(x.margin_after, x.after)} was={x.before ? side(x.margin_before, x.before) : undefined} />}</td>
                <td class="n">{m(x.margin_before)} → <b>{m(x.margin_after)}</b> {x.before && x.after && <span class="soft">{t(worse(x) ? "finding.worse" : "finding.better")}</span>}</td></tr>
            ))}
          </tbody></table>
          <h2>{t("compare.keys")} ({diff.changes.length})</h2>
          <table class="small"><tbody>{diff.changes.map((c) => <tr><th scope="row" class="n">{c.key}</th><td class="n">{c.from ?? "—"}</td><td class="n strong">{c.to ?? "—"}</td></tr>)}</tbody></table>
        </>
      )}
    </main>
  );
}
