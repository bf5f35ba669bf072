import { t, type TextKey } from "../texts";
import type { Finding, State } from "../model";
import { SCALE } from "../model";

/** Fills that survive a black-and-white printer: coarse hatch outside, fine hatch tight, solid inside, dots beyond, dashes open. */
export function Patterns() {
  return (
    <svg width="0" height="0" aria-hidden="true" class="unseen">
      <defs>
        <pattern id="outside" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="6" height="6" fill="var(--sheet)" /><line x1="0" y1="0" x2="0" y2="6" stroke="var(--warm)" stroke-width="3.6" />
        </pattern>
        <pattern id="tight" width="4.5" height="4.5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="4.5" height="4.5" fill="var(--sheet)" /><line x1="0" y1="0" x2="0" y2="4.5" stroke="var(--ink)" stroke-width="1.5" />
        </pattern>
        <pattern id="beyond" width="5" height="5" patternUnits="userSpaceOnUse">
          <rect width="5" height="5" fill="var(--sheet)" /><circle cx="2" cy="2" r="1.1" fill="var(--ink)" />
        </pattern>
        <pattern id="skin" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
          <line x1="0" y1="0" x2="0" y2="5" stroke="var(--faint)" stroke-width="1" />
        </pattern>
      </defs>
    </svg>
  );
}

export const stateFill = (s: State) => (s === "inside" ? "var(--ink)" : s === "open" ? "none" : `url(#${s})`);
const stateLine = (s: State) => (s === "outside" ? "var(--warm)" : s === "open" ? "var(--soft)" : "var(--ink)");

/** A state as a shape; the word stands beside it wherever there is room. */
export function Mark({ state }: { state: State }) {
  return (
    <svg class="mark" width="20" height="14" viewBox="0 0 20 14" role="img" aria-label={t(`state.${state}` as TextKey)}>
      <rect x="1" y="1.5" width="18" height="11" fill={stateFill(state)} stroke={stateLine(state)} stroke-width="1.6" stroke-dasharray={state === "open" ? "3 2.4" : undefined} />
    </svg>
  );
}

const W = 400;
const x = (m: number) => W / 2 + (Math.max(-SCALE, Math.min(SCALE, m)) / SCALE) * (W / 2 - 6);
const plain = (m: number) => (m < 0 ? "−" : "") + Math.abs(m).toFixed(2);

/** One margin on the common scale; `was` is drawn thin beside it while a trial runs. */
export function MarginBar({ finding, was }: { finding: Finding; was?: Finding }) {
  const m = finding.margin;
  const known = m !== null && finding.state !== "open";
  const a = known ? Math.min(x(0), x(m!)) : x(0);
  const wide = known ? Math.max(2.5, Math.abs(x(m!) - x(0))) : x(0.5) - x(0);
  const cut = known && Math.abs(m!) > SCALE;
  const state = t(`state.${finding.state}` as TextKey);
  const label = known ? t("scale.label", { margin: plain(m!), state }) : state;
  return (
    <svg viewBox={`0 0 ${W} 34`} preserveAspectRatio="none" role="img" aria-label={label + (was?.margin != null ? "; " + t("scale.was", { margin: plain(was.margin) }) : "")}>
      {[-1, -0.5, 0.5, 1].map((g) => <line x1={x(g)} x2={x(g)} y1="0" y2="34" stroke="var(--hair)" stroke-dasharray="2 4" />)}
      {was && was.margin !== null && was.margin !== m && (
        <rect x={Math.min(x(0), x(was.margin))} y="25" width={Math.max(2, Math.abs(x(was.margin) - x(0)))} height="4" fill="none" stroke={stateLine(was.state)} stroke-width="1" />
      )}
      <rect class="fill" x={a} y="9" width={wide} height="13" fill={stateFill(finding.state)} stroke={stateLine(finding.state)} stroke-width="1.5" stroke-dasharray={finding.state === "open" ? "4 3" : undefined} />
      {cut && <path d={m! < 0 ? `M${a + 12} 5l5 8l-5 4l5 8` : `M${a + wide - 17} 5l5 8l-5 4l5 8`} fill="none" stroke="var(--paper)" stroke-width="5" />}
      <line x1={x(0)} x2={x(0)} y1="0" y2="34" stroke="var(--ink)" stroke-width="2" />
    </svg>
  );
}

/** The words under the scale. */
export function ScaleWords() {
  const words: [number, TextKey, boolean][] = [[-0.5, "scale.over", false], [0, "scale.limit", true], [0.5, "scale.half", false], [1, "scale.whole", false]];
  return (
    <svg viewBox={`0 0 ${W} 20`} aria-hidden="true">
      {words.map(([m, key, bold]) => (
        <text x={m === 1 ? W : x(m)} y="14" text-anchor={m === 1 ? "end" : "middle"} font-size="12.5" font-weight={bold ? 700 : 400} opacity={bold ? 1 : 0.8}>{t(key)}</text>
      ))}
    </svg>
  );
}
