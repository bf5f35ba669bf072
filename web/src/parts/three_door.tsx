import { useEffect, useRef, useState } from "preact/hooks";
import { get } from "../api";
import type { Desk } from "../desk_state";
import { leaf, list, millimetres, places, table, word } from "../plan";
import { t, type TextKey } from "../texts";
import { say, type System } from "../units";
import { FeatureFindings, titleOf, type Features } from "./feature";
import { at as standing, moveAt, palletOf, wayOf, type Run } from "../run";
import type { Layer, Live, SceneData, Shown } from "./three";

/** True where the browser can draw in three dimensions at all. */
function able(): boolean {
  try {
    return !!document.createElement("canvas").getContext("webgl2");
  } catch {
    return false;
  }
}

/** Plate and nests as the trial says them, in m. */
function live(desk: Desk): Live {
  const pallet = table(desk.plan!.root, "pallet");
  const size = leaf(table(pallet, "plate"), "size");
  const nests = list(pallet, "nest").flatMap((row) => {
    const at = leaf(row, "at");
    return at ? places(desk.text(at.key, at.text)) : [];
  });
  return { plate: size && millimetres(desk.text(size.key, size.text)).map((v) => v / 1e3), nests: nests.map((p) => ({ x: p.x / 1e3, y: p.y / 1e3 })) };
}

/** Nothing is cut here or later: what was stock is gone. */
function finished(desk: Desk, op: string): boolean {
  const ops = list(desk.plan!.root, "operation");
  const cuts = (o: (typeof ops)[number]) => list(o, "cut").length > 0 || !!leaf(o, "makes") || ["grind", "hone"].includes(word(o, "kind"));
  const here = ops.findIndex((o) => word(o, "id") === op);
  return here >= 0 && ops.some(cuts) && !ops.slice(here).some(cuts);
}

const LAYERS: Layer[] = ["parts", "skin", "holding", "run_off"];
const has: Record<Layer, (d: SceneData) => boolean> = {
  parts: (d) => !!d.part, skin: (d) => !!(d.casting || d.raw), holding: (d) => !!(d.pins?.length || d.screws?.length || d.anchors?.length || d.pads?.length || d.contacts?.length), run_off: (d) => !!(d.run_off?.length || d.pockets?.length || d.ribs?.length),
};

interface Props { desk: Desk; op: string; units: System; from: System; features: Features; pick: (finding: string) => void; back: () => void; run?: Run | null; time?: number }

/** The pallet in three dimensions; a feature picked in it shows its findings, a finding that is open lights its feature. */
export function ThreeDoor({ desk, op, units, from, features, pick, back, run, time = 0 }: Props) {
  const box = useRef<HTMLCanvasElement>(null), over = useRef<HTMLDivElement>(null);
  const shown = useRef<Shown | null>(null);
  const [off, setOff] = useState(!able());
  const [data, setData] = useState<SceneData | null>(null);
  const feature = features.now, setFeature = (id: string) => features.press(id, op);
  const picked = useRef(setFeature);
  picked.current = setFeature;
  const [hidden, setHidden] = useState<Set<Layer>>(new Set());
  const path = desk.file!.path;
  useEffect(() => {
    if (off) return;
    let gone = false;
    (async () => {
      const [{ show }, scene] = await Promise.all([import("./three"), get<SceneData>("scene", { path, operation: op })]);
      if (gone || !box.current || !over.current) return;
      if (finished(desk, op)) scene.raw = scene.casting = null;
      const row = run?.nests?.filter((n) => !/^row of/.test(n.words)) ?? [];
      if (!scene.plate && row.length > 1) scene.nests = row.map((n) => ({ id: n.id, at: [n.at[0], n.at[1], 0], turn: n.turn })); // several parts side by side, as the program has them
      shown.current = show(box.current, over.current, scene, {
        picked: (id) => picked.current(id), label: (m) => say(`${(m * 1e3).toFixed(1)} mm`, "metric", units), nest: (id) => (scene.plate || scene.nests.length > 1 ? t("draw.nest", { n: id }) : ""),
      });
      if (scene.plate) shown.current.live(live(desk));
      setData(scene);
    })().catch(() => !gone && setOff(true));
    return () => {
      gone = true;
      shown.current?.end();
      shown.current = null;
    };
  }, [path, off, desk.file!.hash, units, !!run]);
  useEffect(() => shown.current?.alight(feature), [feature, data]);
  useEffect(() => { if (data?.plate) shown.current?.live(live(desk)); }, [desk.changes]);
  useEffect(() => LAYERS.forEach((l) => shown.current?.layer(l, !hidden.has(l))), [hidden, data]);
  // the tool of the program, and the way of that tool alone
  const now = run?.moves[moveAt(run, time)], tool = now?.tool, pallet = palletOf(now?.nest ?? "");
  useEffect(() => shown.current?.way(run && tool !== undefined ? wayOf(run, tool, pallet) : null), [run, tool, pallet, data]);
  useEffect(() => {
    const of = run && tool !== undefined ? run.tools[tool] : undefined;
    const here = run ? standing(run, time) : null;
    shown.current?.tool(here && of && run!.moves[here.i].nest ? { at: [here.x, here.y, here.z], diameter: of.diameter, long: of.long, words: of.name } : null);
  }, [run, time, data]);
  const names = data?.part?.triangles?.names ?? [];
  return (
    <div class="solid">
      {off ? <p role="status">{t("desk.three.off")}</p> : (
        <>
          <div class="view"><canvas ref={box} class="three" tabIndex={0} aria-label={t("desk.three.label")} role="img" /><div ref={over} class="over" /></div>
          <p class="soft small">{t("desk.three.hint")}</p>
          {data?.notes?.map((n) => <p class="soft small">{n}</p>)}
          <p class="tools">
            {(["corner", "above", "front"] as const).map((v) => <button onClick={() => shown.current?.from(v)}>{t(`desk.three.${v}` as TextKey)}</button>)}
            {data && LAYERS.filter((l) => has[l](data)).map((l) => (
              <label class="inline"><input type="checkbox" checked={!hidden.has(l)} onChange={() => { const n = new Set(hidden); if (!n.delete(l)) n.add(l); setHidden(n); }} /> {t(`desk.three.${l}` as TextKey)}</label>
            ))}
            {names.length > 0 && (
              <label class="inline">{t("desk.three.feature")} <select class="which" value={feature} onChange={(e) => setFeature(e.currentTarget.value)}>
                <option value="">—</option>{names.map((n) => <option value={n}>{titleOf(desk, n)}</option>)}
              </select></label>
            )}
          </p>
          {feature && <FeatureFindings desk={desk} id={feature} units={units} from={from} pick={pick} only={features.only} />}
        </>
      )}
      <p><button onClick={back}>{t("desk.three.close")}</button></p>
    </div>
  );
}
