import type { ComponentChildren } from "preact";
import type { Desk } from "../desk_state";
import { stateRank } from "../model";
import { leaf, list, millimetres, table, word, type Table } from "../plan";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { featureKey, featuresOf, FeatureFindings, type Features } from "./feature";
import { FlatDrawing, paperOf, ringPath, useFlat, Without } from "./flat";
import { Mark } from "./state";
import { Value } from "./value";

interface Props { desk: Desk; units: System; from: System; pick: (id: string) => void; features: Features }
/** Where a feature was pressed, when that was on the casting. */
const CASTING = "casting";

/** Where the route begins: the iron, its grades and sizes, and how much stands around the part. */
export function CastingStrip({ desk, units, from, pick, features }: Props) {
  const root = desk.plan!.root, casting = table(root, "casting"), part = table(root, "part");
  if (!casting) return null;
  const s = (x: string) => say(x, from, units);
  // a call, not a component of its own: it would be a new one at each drawing, and what is being typed would be lost
  const V = (p: { of?: Table; k: string; name: TextKey }) => <Value desk={desk} leaf={leaf(p.of ?? casting, p.k)} name={t(p.name)} units={units} from={from} />;
  const sizes = list(casting, "size");
  const hurts = desk.shown.filter((f) => f.operation === "casting" && f.state !== "inside").sort((a, b) => stateRank(a.state) - stateRank(b.state)).slice(0, 5);
  const with_ = (key: TextKey, nodes: Record<string, ComponentChildren>) => [...t(key).split(/\{(\w+)\}/).map((piece, i) => (i % 2 ? nodes[piece] : piece)), " "];
  const has = (k: string) => !!leaf(casting, k);
  return (
    <section class="strip" id="op-casting" aria-label={t("casting.title")}>
      <div class="stamp"><span class="line raw" /><a class="small" href={location.hash} onClick={(e) => { e.preventDefault(); document.getElementById("op-casting")?.scrollIntoView(); }}>{t("casting.stamp")}</a></div>
      <div>
        <h2>{t("casting.title")}</h2>
        <p class="sentence">
          {with_("say.casting", { material: leaf(casting, "grade") ? V({ k: "grade", name: "name.iron" }) : V({ of: part, k: "material", name: "name.iron" }), process: word(casting, "process"), grade: has("tolerance_grade") ? V({ k: "tolerance_grade", name: "name.grade" }) : "—", allowance: has("allowance_grade") ? V({ k: "allowance_grade", name: "name.allowance" }) : "—" })}
          {has("skin") && with_("say.casting.skin", { skin: V({ k: "skin", name: "name.skin" }) })}
          {has("hardness") && with_("say.casting.hard", { hardness: V({ k: "hardness", name: "name.hardness" }) })}
          {has("price") && with_("say.casting.price", { price: V({ k: "price", name: "name.castprice" }) })}
          {has("min_lot") && with_("say.casting.lot", { lot: V({ k: "min_lot", name: "name.minlot" }) })}
        </p>
        {sizes.length > 0 && (
          <table class="small sizes"><tbody>
            {sizes.map((z) => <tr><th scope="row">{word(z, "id")}</th><td>{V({ of: z, k: "raw", name: "name.raw" })}</td><td>{leaf(z, "stock") && <>{t("name.stock")} {V({ of: z, k: "stock", name: "name.stock" })}</>}</td></tr>)}
          </tbody></table>
        )}
        {hurts.length > 0 && (
          <><h3 class="soft small">{t("desk.strip.findings")}</h3>
            <ul class="hurts">{hurts.map((f) => <li><button onClick={() => pick(f.id)}><Mark state={f.state} /><span>{s(f.title)}: <span class="n">{s(f.value_text || t("state.open"))}</span></span></button></li>)}</ul></>
        )}
      </div>
      <div class="draw"><Around desk={desk} sizes={sizes} features={features} />
        {features.now && features.at === CASTING && <FeatureFindings desk={desk} id={features.now} units={units} from={from} pick={pick} only={features.only} />}</div>
    </section>
  );
}

/** The part inside its casting, from above and from the front, one scale; what comes with skin or cored can be pressed. */
function Around({ desk, sizes, features }: { desk: Desk; sizes: Table[]; features: Features }) {
  const root = desk.plan!.root, part = millimetres(word(table(root, "part"), "size")), hash = desk.file?.hash, path = desk.file!.path;
  const views = [useFlat(path, hash, "+z", true), useFlat(path, hash, "-y", true)];
  const cast = new Set(list(root, "feature").filter((f) => /^(skin|cored)$/.test(word(f, "cast"))).map((f) => word(f, "id")));
  for (const f of desk.shown) if (f.operation === "casting" && f.feature) for (const id of featuresOf(desk, f.feature)) cast.add(id);
  const said = (row: Table, k: string) => millimetres(desk.text(leaf(row, k)?.key ?? "", word(row, k)))[0];
  const raw = [...part], under = [0, 0, 0];
  for (const z of sizes) {
    const now = said(z, "raw");
    if (word(z, "kind") || !(now > 0)) continue;
    // an outside size belongs to the part's axis that it covers most closely
    const axis = part.map((p, i) => ({ i, over: millimetres(word(z, "raw"))[0] - p })).filter((a) => a.over >= 0).sort((a, b) => a.over - b.over)[0]?.i;
    if (axis === undefined) continue;
    raw[axis] = now;
    under[axis] = leaf(z, "stock") ? said(z, "stock") : (now - part[axis]) / 2;
  }
  const corner = millimetres(word(table(root, "part"), "corner_radius"))[0] ?? 0;
  const lit = features.now ? featuresOf(desk, features.now) : [];
  if (part.length !== 3 || !views[0]) return null;
  return (
    <figure>
      {views.map((view, i) => {
        if (!view) return null;
        const axes = i ? [0, 2] : [0, 1], [x0, y0, x1, y1] = view.box, over = axes.map((a) => (raw[a] - part[a]) / 1e3), low = axes.map((a) => under[a] / 1e3);
        const box = [x0 - low[0], y0 - low[1], x1 + over[0] - low[0], y1 + over[1] - low[1]];
        const paper = paperOf(box, 372, 300, 14);
        const around = view.raw?.length ? view.raw.map((r) => <path d={ringPath(r, paper)} fill="url(#skin)" stroke="var(--ink)" stroke-width="1" />)
          : <rect x={paper.X(box[0])} y={paper.Y(box[3])} width={(box[2] - box[0]) * paper.k} height={(box[3] - box[1]) * paper.k} rx={i ? 0 : ((corner + 2) / 1e3) * paper.k} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.6" />;
        return <FlatDrawing view={{ ...view, back: [] }} paper={paper} width={400} label={t(i ? "casting.front" : "casting.above")} under={around}
          can={(id) => cast.has(id)} lit={(id) => lit.includes(id)} press={(id) => features.press(id, CASTING)} keys={(id) => featureKey(desk, features, id, CASTING)} named />;
      })}
      <figcaption>{t("casting.caption")}{views.find((v) => v) && <Without view={views.find((v) => v)!} />}</figcaption>
    </figure>
  );
}
