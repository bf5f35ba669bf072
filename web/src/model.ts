/** What the server says, as far as the page reads it (docs/findings.md, docs/api.md). */
export type State = "outside" | "tight" | "beyond" | "open" | "inside";
export const STATES: State[] = ["outside", "tight", "beyond", "open", "inside"];

export interface Assumption {
  name: string; key: string; value: number | null; low: number | null; high: number | null; kind: string;
  source: string; replaced_by: string; margin_at_low: number | null; margin_at_high: number | null; flips: boolean;
}
export interface FindingLever { name: string; key: string; now: number | null; flip: number | null; kind: string; text: string }
export interface Finding {
  id: string; operation: string; feature: string; question: string; tool?: string; nest?: string;
  title: string; sentence: string; state: State; value: number | null; value_text: string; kind: string;
  limit: { type: string; low?: number; high?: number; text: string } | null;
  margin: number | null; formula: string; source: string;
  interval?: { low: number; high: number; meaning: string };
  inputs: { name: string; text: string }[];
  assumptions: Assumption[]; levers: FindingLever[]; missing: string[]; cautions: string[];
  flipped_by?: string; range?: string;
}
export interface Study {
  plan: { name: string; hash: string; units: "metric" | "inch"; date?: string };
  version: string; verdict: string; casting: string; counts: Record<State, number>;
  findings: Finding[]; not_looked_at: string[];
  castings?: { number: string; cleans_up: boolean; left: string; shift_x: number; shift_y: number; saved_by_shift: boolean }[];
  hash?: string; job?: string; done?: boolean; doing?: string;
}
export interface Problem { what?: string; where?: string; found?: string; expected?: string; near?: string; message?: string }
export interface MovedLever {
  key: string; plan_key?: string | null; name: string; from: string; to: string; effort: string; gain: number; structural: boolean; mends: boolean;
  breaks: boolean; cost_change_per_part: number | null;
  moved: { finding: string; title: string; before: State; after: State; margin_before: number | null; margin_after: number | null }[];
}
export interface ReckonInput {
  name: string; help: string; form: string; kind?: string; unit?: string; example?: string; default?: string;
  default_source?: string; range?: string; required: boolean; choices?: string[]; least?: number; most?: number;
}
export interface Reckoner {
  name: string; science: string; question: string; formula: string; source: string; range: string;
  inputs: ReckonInput[]; outputs: { name: string; help: string }[];
  examples: { given: Record<string, string>; expected: Record<string, string> }[];
}

/** 0 for what needs a hand most. */
export const stateRank = (s: State): number => STATES.indexOf(s);

/** Whole margin bars end here; longer ones are cut with a break mark. */
export const SCALE = 1.15;
