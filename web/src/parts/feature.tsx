import type { Desk } from "../desk_state";
import { stateRank, type Finding } from "../model";
import { list, millimetres, places, table, word, type Point, type Table } from "../plan";
import { makes } from "../route";
import { t } from "../texts";
import { say, type System } from "../units";
import { Mark } from "./state";

/** A feature that somebody pressed on a drawing, or that the open finding speaks of. */
export interface Features {
  now: string;
  /** The operation on whose drawing it was pressed; empty when a finding named it. */
  at: string;
  press: (id: string, op: string) => void;
  /** Shows only its findings in the list at the top. */
  only: (id: string) => void;
}

/** "F7@2" and "F2.size" speak of F7 and F2. */
export const bare = (feature: string) => feature.split(/[.@]/)[0];

const SHOWN = 8;

/** A finding about a size of the casting names the size: the features between which it lies, or the one that it is of. */
export const featuresOf = (desk: Desk, named: string): string[] => {
  const size = list(table(desk.plan?.root, "casting"), "size").find((z) => word(z, "id") === named);
  return size ? `${word(size, "feature")};${word(size, "between")}`.split(";").map((x) => bare(x.trim())).filter(Boolean) : [bare(named)];
};
export const speaksOf = (desk: Desk, f: Finding, id: string) => bare(f.feature) === id || (f.operation === "casting" && featuresOf(desk, f.feature).includes(id));

export const ofFeature = (desk: Desk, id: string): Finding[] =>
  id ? desk.shown.filter((f) => speaksOf(desk, f, id)).sort((a, b) => stateRank(a.state) - stateRank(b.state)) : [];

export const titleOf = (desk: Desk, id: string) => `${id} ${word(list(desk.plan!.root, "feature").find((r) => word(r, "id") === id), "name")}`.trim();

/** What makes a shape of a drawing a key of its feature: by Tab and Enter as well as under a finger. */
export function featureKey(desk: Desk, features: Features, id: string, op: string) {
  const all = ofFeature(desk, id), press = () => features.press(id, op);
  return {
    class: `feature${features.now === id ? " lit" : ""}`, tabindex: 0, role: "button" as const, "aria-pressed": features.now === id, "data-f": id,
    "aria-label": all.length ? t("feature.label", { title: titleOf(desk, id), n: all.length, outside: all.filter((f) => f.state === "outside").length }) : t("feature.bare", { title: titleOf(desk, id) }),
    onClick: press,
    onKeyDown: (e: KeyboardEvent) => {
      if (e.key === "Escape" && features.now) return features.press(features.now, features.at);
      if (e.key !== "Enter" && e.key !== " ") return;
      e.preventDefault();
      e.stopPropagation();
      press();
    },
  };
}

/** Sends a feature that was pressed to another operation: the same as its key in the list of what is made. */
function MoveFeature({ desk, id }: { desk: Desk; id: string }) {
  const ops = list(desk.plan!.root, "operation");
  const made = ops.flatMap((op) => makes(op, desk.moves).filter((m) => bare(m.id) === id).map((m) => ({ of: m.id, op: word(op, "id") })));
  return (
    <>
      {made.map((m) => (
        <p class="small"><label class="inline">{made.length > 1 && <b class="n">{m.of} </b>}{t("feature.move", { op: m.op })}{" "}
          <select class="move" value={m.op} onChange={(e) => desk.moveFeature(m.of, e.currentTarget.value)}>
            {ops.map((o) => word(o, "id")).map((o) => <option value={o}>{o === m.op ? t("feature.stays", { op: o }) : o}</option>)}
          </select></label></p>
      ))}
    </>
  );
}

/** The findings of a feature, below the drawing on which it was pressed. */
export function FeatureFindings({ desk, id, units, from, pick, only }: { desk: Desk; id: string; units: System; from: System; pick: (finding: string) => void; only?: (id: string) => void }) {
  const all = ofFeature(desk, id);
  return (
    <div class="of-feature noprint">
      <p role="status"><b>{titleOf(desk, id)}</b>{all.length > 0 && <span class="soft">: {t("feature.said", { n: all.length })}</span>}</p>
      {all.length ? (
        <ul class="hurts">{all.slice(0, SHOWN).map((f) => <li><button onClick={() => pick(f.id)}><Mark state={f.state} /><span>{say(f.title, from, units)}: <span class="n">{say(f.value_text, from, units) || t("state.open")}</span></span></button></li>)}</ul>
      ) : <p class="soft small">{t("desk.three.none")}</p>}
      <MoveFeature desk={desk} id={id} />
      {only && all.length > 0 && <p><button class="plain" onClick={() => only(id)}>{t("feature.only")}</button></p>}
    </div>
  );
}

/** A feature as it is seen from above, in the part's own axes, in mm; what is larger comes first, so that the smaller lies on top. */
export interface Seen { id: string; p: Point; r: number; kind: string; w?: number; h?: number }
const FLAT = ["bore", "counterbore", "hole", "thread", "pocket", "groove", "face"];
const sizeOf = (f: Seen) => (f.w && f.h ? Math.max(f.w, f.h) / 2 : f.r) + (f.kind === "face" ? 0.01 : 0);

export function seenFromAbove(plan: Table): Seen[] {
  return list(plan, "feature").flatMap((f): Seen[] => {
    const kind = word(f, "kind"), said = word(f, "diameter") || (kind === "thread" ? word(f, "drill") : "");
    if (!FLAT.includes(kind) || (kind === "face" && !said) || !/^([+-]z)?$/.test(word(f, "normal"))) return []; // what opens at a side is not seen from above
    const d = millimetres(said + (/[a-z]/.test(said.slice(-2)) ? "" : " mm"))[0];
    const [w, h] = kind === "pocket" ? [millimetres(word(f, "width"))[0], millimetres(word(f, "length"))[0]] : [];
    return places(word(f, "at")).map((p) => ({ id: word(f, "id"), p, r: (d ?? 0) / 2, kind, w, h }));
  }).filter((f) => f.r > 0 || (f.w && f.h)).sort((a, b) => sizeOf(b) - sizeOf(a));
}
