import { leaf, list, word, type Leaf, type PlanText, type Table } from "./plan";
import type { Change } from "./desk_state";
import { t } from "./texts";

/** Features moved to another operation while a trial runs: feature to the id of the operation. */
export type Moves = Record<string, string>;
export const ROUTE = "route";

const ids = (l: Leaf | undefined): string[] => (l ? l.text.split(l.text.includes(";") ? ";" : /\s+/).map((s) => s.trim()).filter(Boolean) : []);
const isLeaf = (x: Leaf | Table | Table[]): x is Leaf => typeof (x as Leaf).line === "number";

/** A value as the plan's file writes it: numbers and truths stay what they are. */
const typed = (l: Leaf) => (l.list ? l.text.split(";").map((s) => s.trim()) : /^-?\d+(\.\d+)?$/.test(l.text) ? Number(l.text) : l.text === "true" ? true : l.text === "false" ? false : l.text);

/** What an operation makes, with the trial's moves. */
export function makes(op: Table, moves: Moves): { id: string; moved: boolean }[] {
  const own = word(op, "id"), base = ids(leaf(op, "makes"));
  const stays = base.filter((f) => (moves[f] ?? own) === own);
  return [...stays.map((id) => ({ id, moved: false })), ...Object.keys(moves).filter((f) => moves[f] === own && !base.includes(f)).map((id) => ({ id, moved: true }))];
}

/** The moves as changes of the plan: the lists of what is made, and the cuts, which go along. */
export function routeChanges(plan: PlanText, moves: Moves): Change[] {
  const ops = list(plan.root, "operation");
  const out: Change[] = [], removals: Change[] = [], adds: Change[] = [];
  for (const op of ops) {
    const id = word(op, "id"), was = leaf(op, "makes"), now = makes(op, moves).map((m) => m.id);
    if (ids(was).join() !== now.join()) out.push({ key: was?.key ?? `operation.${id}.makes`, value: now.length ? now : null, was: was?.text ?? "", name: t("name.makes"), group: ROUTE });
    for (const cut of list(op, "cut")) {
      const of = leaf(cut, "features"), all = ids(of);
      const gone = all.filter((f) => moves[f] && moves[f] !== id);
      if (!of || !gone.length) continue;
      const row = of.key.slice(0, -".features".length), stay = all.filter((f) => !gone.includes(f));
      if (stay.length) out.push({ key: of.key, value: stay, was: of.text, name: t("name.cut"), group: ROUTE });
      else removals.unshift({ key: row, remove: true, was: "", name: t("name.cut"), group: ROUTE });
      for (const to of new Set(gone.map((f) => moves[f]))) {
        const add: NonNullable<Change["add"]> = {};
        for (const [name, x] of Object.entries(cut)) if (isLeaf(x)) add[name] = name === "features" ? gone.filter((f) => moves[f] === to) : typed(x);
        adds.push({ key: `operation.${to}.cut`, add, was: "", name: t("name.cut"), group: ROUTE });
      }
    }
  }
  return [...out, ...removals, ...adds];
}
