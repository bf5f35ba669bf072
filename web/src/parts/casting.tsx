import type { ComponentChildren } from "preact";
import type { Desk } from "../desk_state";
import { stateRank } from "../model";
import { leaf, list, millimetres, table, word, type Table } from "../plan";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { Mark } from "./state";
import { Value } from "./value";

interface Props { desk: Desk; units: System; from: System; pick: (id: string) => void }

/** Where the route begins: the iron, its grades and sizes, and how much stands around the part. */
export function CastingStrip({ desk, units, from, pick }: Props) {
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
            <ul class="hurts">{hurts.map((f) => <li><button onClick={() => pick(f.id)}><Mark state={f.state} /><span>{f.title}: <span class="n">{s(f.value_text || t("state.open"))}</span></span></button></li>)}</ul></>
        )}
      </div>
      <div class="draw"><Around desk={desk} sizes={sizes} part={millimetres(word(part, "size"))} corner={millimetres(word(part, "corner_radius"))[0] ?? 0} /></div>
    </section>
  );
}

/** The part inside its casting, from above and from the side, one scale. */
function Around({ desk, sizes, part, corner }: { desk: Desk; sizes: Table[]; part: number[]; corner: number }) {
  if (part.length !== 3) return null;
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
  const k = 360 / raw[0], x0 = 20, top = 14, wide = raw[0] * k, high = raw[1] * k, side = top + high + 26;
  const inX = (raw[0] - part[0]) / 2 * k;
  return (
    <figure>
      <svg viewBox={`0 0 400 ${side + raw[2] * k + 12}`} width="400" role="img" aria-label={t("casting.label")}>
        <rect x={x0} y={top} width={wide} height={high} rx={(corner + 2) * k} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.6" />
        <rect x={x0 + inX} y={top + (raw[1] - part[1] - under[1]) * k} width={part[0] * k} height={part[1] * k} rx={corner * k} fill="var(--sheet)" stroke="var(--soft)" stroke-dasharray="7 4" />
        <rect x={x0} y={side} width={wide} height={raw[2] * k} fill="url(#skin)" stroke="var(--ink)" stroke-width="1.6" />
        <rect x={x0 + inX} y={side + (raw[2] - part[2] - under[2]) * k} width={part[0] * k} height={part[2] * k} fill="var(--sheet)" stroke="var(--soft)" stroke-dasharray="7 4" />
      </svg>
      <figcaption>{t("casting.caption")}</figcaption>
    </figure>
  );
}
