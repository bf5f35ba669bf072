import { useState } from "preact/hooks";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { FlatDrawing, idsOf, paperOf, type FlatView } from "./flat";

export interface Feature { id: string; name: string; kind: string; size: string; at: string[]; places: number; from: string; hole: boolean; face: boolean }
export interface Requirement { id: string; feature: string; kind: string; limits: string; to: string }
/** What questions can be answered with by pointing. */
export interface Picks { features: Feature[]; requirements: Requirement[]; views: FlatView[]; units: System }

interface Props { picks: Picks; kind: "hole" | "face" | "requirement" | "thread"; question: string; /** of a thread: what each hole looks like, "H4 M8, H5 M6" */ example: string; value: string; set: (value: string) => void; units: System }

const split = (value: string) => value.split(",").map((s) => s.trim()).filter(Boolean);
const bare = (id: string) => id.split(/[.@]/)[0];
/** What an entry of the answer speaks of: "H3@1" and "H3 M8-6H 16 mm" of H3. */
const named = (item: string) => item.split(/[@ ]/)[0];
const PLACES = 3;
/** The places that a row speaks of: all of its feature's, or of "H5@2.size" the second. */
const placesOf = (id: string, at: string[]) => {
  const one = at[Number(/@(\d+)/.exec(id)?.[1]) - 1];
  return one ? [one] : at;
};

/** A question that is answered by pointing: on a drawing with the ids, or in a list with kind, size and place. */
export function Pick({ picks, kind, question, example, value, set, units }: Props) {
  const looks = new Map(kind === "thread" ? split(example).map((x) => [named(x), x]) : []);
  const rows = kind === "requirement" ? picks.requirements.map((r) => ({ id: r.id, of: bare(r.feature) }))
    : picks.features.filter((f) => (kind === "face" ? f.face : kind === "hole" ? f.hole : looks.has(f.id))).map((f) => ({ id: f.id, of: f.id }));
  const known = new Set(rows.map((r) => r.id)), listed = split(value), entry = (item: string) => (known.has(item) ? item : named(item)), taken = new Set(listed.map(entry).filter((id) => known.has(id)));
  const features = new Set(rows.map((r) => r.of));
  const seen = picks.views.filter((v) => idsOf(v).some((id) => features.has(id)));
  // where most can be pressed, and of those where the part shows its largest side
  const shown = (v: FlatView) => idsOf(v).filter((id) => features.has(id)).length, large = (v: FlatView) => (v.box[2] - v.box[0]) * (v.box[3] - v.box[1]);
  const first = [...seen].sort((a, b) => shown(b) - shown(a) || large(b) - large(a))[0];
  const [up, setUp] = useState(first?.up ?? "");
  const [near, setNear] = useState("");
  const s = (x: string) => say(x, picks.units, units);
  const toggle = (id: string) => {
    // words such as "none" or "all outer faces" give way to what is pointed at
    const now = listed.filter((x) => known.has(entry(x)));
    set((taken.has(id) ? now.filter((x) => entry(x) !== id) : [...now, looks.get(id) ?? id]).join(", "));
  };
  const press = (feature: string) => {
    const own = rows.filter((r) => r.of === feature);
    if (own.length === 1) toggle(own[0].id);
    setNear(feature);
    const row = document.getElementById(`pick-${question}-${own[0]?.id}`);
    if (row) row.parentElement!.parentElement!.scrollTop = row.parentElement!.offsetTop - row.parentElement!.parentElement!.offsetTop - 40;
  };
  const view = seen.find((v) => v.up === up);
  const chosen = new Set(rows.filter((r) => taken.has(r.id)).map((r) => r.of));
  if (!rows.length) return null;
  const feature = (id: string) => picks.features.find((f) => f.id === id);
  return (
    <details class="pick" open>
      <summary class="small">{t(kind === "hole" || kind === "thread" ? "pick.holes" : kind === "face" ? "pick.faces" : "pick.requirements", { n: rows.length })}</summary>
      <div class="picking">
        {view && (
          <div>
            <div class="ways" role="group" aria-label={t("pick.way")}>
              {seen.map((v) => <button type="button" class="chip" aria-pressed={v.up === up} onClick={() => setUp(v.up)}>{t(`way.${v.up}` as TextKey)}</button>)}
            </div>
            <FlatDrawing view={view} paper={paperOf(view.box, 420, 320)} label={t("pick.drawing", { way: t(`way.${up}` as TextKey) })} can={(id) => features.has(id)} lit={(id) => chosen.has(id) || (!!near && id === near)} press={press} named />
            <p class="soft small">{t("pick.hint")}</p>
          </div>
        )}
        <ul class="pickrows" aria-label={t("pick.list")}>
          {rows.map((r) => {
            const f = feature(r.of), at = placesOf(r.id, f?.at ?? []), q = kind === "requirement" ? picks.requirements.find((x) => x.id === r.id) : undefined;
            return (
              <li class={near === r.of ? "near" : ""} onMouseEnter={() => setNear(r.of)} onMouseLeave={() => setNear("")}>
                <input type="checkbox" id={`pick-${question}-${r.id}`} checked={taken.has(r.id)} onChange={() => toggle(r.id)} onFocus={() => setNear(r.of)} onBlur={() => setNear("")} />
                <label for={`pick-${question}-${r.id}`}>
                  <b class="n">{looks.get(r.id) ?? r.id}</b> {q ? <>{q.kind} <span class="n">{s(q.limits)}</span>{q.to && <> {t("pick.to", { to: q.to })}</>}{f && <span class="soft">; {f.kind} <span class="n">{s(f.size)}</span></span>}</>
                    : f && <>{f.name && f.name !== f.id ? s(f.name) : f.kind} <span class="n">{f.name.includes(f.size) ? "" : s(f.size)}</span></>}
                  {f && at.length > 0 && <span class="soft small place">{t(f.places > 1 && at.length > 1 ? "pick.places" : "pick.place", { n: f.places })} <span class="n">{at.slice(0, PLACES).map(s).join("; ")}{at.length > PLACES ? " …" : ""}</span>{f.from && <>, {t(`way.${f.from}` as TextKey)}</>}</span>}
                </label>
              </li>
            );
          })}
        </ul>
      </div>
    </details>
  );
}
