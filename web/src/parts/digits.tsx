import { useEffect, useState } from "preact/hooks";
import { newId, send, waiting } from "../queue";
import { t } from "../texts";

export interface Measure { id: string; what: string; limit: string; lower: number | null; upper: number | null; kind: string }

/** What is already known of a reading: the digits both limits share; the rest is typed, five at most. */
export function givenDigits(m: Measure): { given: string; free: number; unit: string; factor: number } {
  const unit = /(µm|mm|in|deg|°|N·m)\s*$/.exec(m.limit)?.[1] ?? (/\bin\b/.test(m.limit) ? "in" : /µm/.test(m.limit) ? "µm" : "mm");
  const factor = unit === "in" ? 1 / 0.0254 : unit === "µm" ? 1e6 : unit === "mm" ? 1e3 : 1;
  const places = unit === "in" ? 5 : unit === "µm" ? 1 : 4;
  const middle = ((m.lower ?? m.upper ?? 0) + (m.upper ?? m.lower ?? 0)) / 2;
  const text = (middle * factor).toFixed(places);
  const dot = text.indexOf(".");
  // with only one limit nothing is shared: everything is free within five digits
  if (m.lower === null || m.upper === null || m.lower === undefined || m.upper === undefined || m.lower <= 0) return { given: "", free: 5, unit, factor };
  const shared = text.length - dot - 1 <= 5 ? text.slice(0, dot + 1) : text.slice(0, dot + 2);
  return { given: shared, free: text.length - shared.length, unit, factor };
}

interface Card { path: string; operation: string; nest: string; s: (x: string | undefined | null) => string }

/** What can be measured here: one is picked, its last digits are typed. */
export function MeasureCard({ measures, ...card }: Card & { measures: Measure[] }) {
  const [m, setM] = useState<Measure | null>(null);
  const [said, setSaid] = useState("");
  if (!measures.length) return <p>{t("floor.nothing")}</p>;
  if (m) return <Digits {...card} m={m} done={(words) => { setSaid(words); setM(null); }} />;
  return (
    <div>
      <p>{t("floor.pick")}</p>
      {said && <p class="warn" role="status">{said}</p>}
      <div class="picks">{measures.map((x) => <button onClick={() => setM(x)}>{x.what}<br /><span class="n soft">{card.s(x.limit)}</span></button>)}</div>
    </div>
  );
}

/** The last digits of one reading, five at most, said back in words before they are sent. */
export function Digits({ path, operation, nest, s, m, done }: Card & { m: Measure; done: (said: string) => void }) {
  const form = givenDigits(m);
  const [digits, setDigits] = useState("");
  const [given, setGiven] = useState(form.given);
  const [sure, setSure] = useState(false);
  const [who, setWho] = useState("");
  const press = (d: string) => digits.length < 5 && !(d === "." && (given + digits).includes(".")) && setDigits(digits + d);
  const rub = () => setDigits(digits.slice(0, -1));
  useEffect(() => {
    const on = (e: KeyboardEvent) => {
      if (sure || (e.target as Element).tagName === "INPUT") return;
      if (/^[\d.]$/.test(e.key)) press(e.key);
      if (e.key === "Backspace") rub();
    };
    addEventListener("keydown", on);
    return () => removeEventListener("keydown", on);
  });
  const value = Number(given + digits);
  const text = `${given}${digits} ${form.unit}`;
  const si = value / form.factor;
  const words = m.upper == null && m.lower == null ? "floor.nolimits" : m.upper != null && si > m.upper + 1e-12 ? "floor.above" : m.lower != null && si < m.lower - 1e-12 ? "floor.below" : "floor.inside";
  const step = (by: number) => setGiven(`${Number(given.replace(".", "")) + by}.`);
  const sendIt = async () => {
    try {
      const all = await send({ id: newId(), path, operation, nest, what: m.id, value: text, who, at: new Date().toISOString() });
      done(all ? t("floor.sent", { value: `${m.what} ${text}` }) : t("floor.queued", { n: waiting() }));
    } catch (e) {
      done((e as Error).message);
    }
  };
  return (
    <div>
      <p><b>{m.what}</b> <span class="n soft">{s(m.limit)}</span></p>
      <p class="entry" role="status"><span class="given">{given}</span><i>{digits || "_".repeat(form.free)}</i> {form.unit}</p>
      {!sure ? (
        <div class="measuring">
          <div>
            <p class="soft">{t("floor.digits.hint", { form: `${form.given}${"_".repeat(form.free)}` })}</p>
            {given && <p>{t("floor.whole")} <button aria-label={`${t("floor.whole")} −1`} onClick={() => step(-1)}>−1</button> <button aria-label={`${t("floor.whole")} +1`} onClick={() => step(1)}>+1</button></p>}
            <div class="keys"><button onClick={() => done("")}>{t("floor.back")}</button><button class="go" disabled={!digits || !Number.isFinite(value)} onClick={() => setSure(true)}>{t("floor.check")}</button></div>
          </div>
          <div class="pad">
            {["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"].map((d) => <button onClick={() => press(d)}>{d}</button>)}
            <button aria-label={t("floor.delete")} onClick={rub}>⌫</button>
          </div>
        </div>
      ) : (
        <>
          <p class="warn sure">{t("floor.sure", { value: `${m.what} ${text}`, what: t(words, { limit: s(m.limit) }) })}</p>
          <label class="small">{t("floor.who")} <input value={who} maxLength={5} onInput={(e) => setWho(e.currentTarget.value)} /></label>
          <div class="keys"><button onClick={() => setSure(false)}>{t("floor.no")}</button><button class="go" onClick={() => void sendIt()}>{t("floor.yes")}</button></div>
        </>
      )}
    </div>
  );
}
