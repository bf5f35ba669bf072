import type { State } from "./model";

/** A control program as `/api/program` tells it (docs/api.md): lengths in m in the axes of the nest's own pallet, times in s. */
export interface Move { line: number; tool: number; nest: string; kind: "rapid" | "feed" | "wait"; to: [number, number, number]; start: number; seconds: number; feed: number; engaged?: string; rate?: number; probe?: boolean }
export interface ToolOf { name: string; words: string; diameter: number; long: number }
export interface Fault { id: string; state: State; title: string; sentence: string; tool: string; nest: string; line: number; missing: string[] }
export interface Run {
  file: string; text: string[]; tools: ToolOf[]; moves: Move[]; total: number; notes: string[]; words?: string; from?: "made" | "plan"; timed?: boolean;
  nests?: { id: string; words: string; at: [number, number, number]; turn: number }[];
  findings?: Fault[]; counts?: Record<State, number>; missing?: string[]; not_looked_at?: string[]; caution?: string; left_out?: { findings: number };
}

/** "2" of "2.3": each pallet has axes of its own, so no line goes from one to another. */
export const palletOf = (nest: string) => (nest.includes(".") ? nest.split(".")[0] : "");
/** Does a line lead from the move before to this one on the same drawing? */
export const joined = (run: Run, i: number) => i > 0 && palletOf(run.moves[i - 1].nest) === palletOf(run.moves[i].nest);

/** The move that runs at that time. */
export function moveAt(run: Run, time: number): number {
  let low = 0, high = run.moves.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (run.moves[middle].start + run.moves[middle].seconds < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** When the move of that number ends: there its line is done. */
export const endOf = (run: Run, i: number) => run.moves[i].start + run.moves[i].seconds;

/** Where the tool is at that time, on the straight way from one point to the next. */
export function at(run: Run, time: number): { x: number; y: number; z: number; i: number } {
  const i = moveAt(run, time), m = run.moves[i];
  if (!m) return { x: 0, y: 0, z: 0, i: 0 };
  const from = joined(run, i) ? run.moves[i - 1].to : m.to, part = m.seconds > 0 ? Math.max(0, Math.min(1, (time - m.start) / m.seconds)) : 1;
  const [x, y, z] = m.to.map((v, k) => from[k] + (v - from[k]) * part);
  return { x, y, z, i };
}

export interface Piece { name: string; from: number; to: number }

/** Stretches of one tool and, below them, of one nest. */
export function bars(run: Run): { tools: Piece[]; nests: Piece[] } {
  const runs = (name: (m: Move) => string) => {
    const out: Piece[] = [];
    for (const m of run.moves) {
      const now = out[out.length - 1];
      if (now?.name === name(m)) now.to = m.start + m.seconds;
      else out.push({ name: name(m), from: m.start, to: m.start + m.seconds });
    }
    return out.filter((p) => p.name && p.to > p.from);
  };
  return { tools: runs((m) => run.tools[m.tool]?.name ?? ""), nests: runs((m) => m.nest) };
}

/** Metal taken over the time of the program, m³/s: the most of each of `n` equal stretches. */
export function takings(run: Run, n: number): number[] {
  const out = new Array<number>(n).fill(0), one = run.total / n;
  for (const m of run.moves) {
    if (!m.rate || !(one > 0)) continue;
    for (let k = Math.floor(m.start / one); k <= Math.min(n - 1, Math.floor((m.start + m.seconds) / one)); k++) out[k] = Math.max(out[k], m.rate);
  }
  return out;
}

/** 754 s as "12:34". */
export function clock(seconds: number): string {
  const s = Math.round(seconds);
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}

/** The way of one tool on one pallet as pieces for the scene: each (x, y, z, x, y, z). */
export function wayOf(run: Run, tool: number, pallet: string): { feed: number[][]; rapid: number[][] } {
  const feed: number[][] = [], rapid: number[][] = [];
  run.moves.forEach((m, i) => {
    if (joined(run, i) && palletOf(m.nest) === pallet && m.tool === tool && m.kind !== "wait") (m.kind === "rapid" ? rapid : feed).push([...run.moves[i - 1].to, ...m.to]);
  });
  return { feed, rapid };
}
