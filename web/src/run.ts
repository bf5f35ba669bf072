/** A control program as the page walks through it: lengths in m in the pallet's axes, times in s. */
export interface Move { line: number; tool: number; nest: string; kind: "rapid" | "feed" | "wait"; to: [number, number, number]; start: number; seconds: number; feed: number; engaged?: string }
export interface ToolOf { name: string; words: string; diameter: number; long: number }
export interface Run { file: string; text: string[]; tools: ToolOf[]; moves: Move[]; total: number; notes: string[] }

/** Where the tool is when the move of that number ends, and how long it has run. */
export function at(run: Run, step: number): { x: number; y: number; z: number; t: number } {
  const m = run.moves[Math.max(0, Math.min(step, run.moves.length - 1))];
  return m ? { x: m.to[0], y: m.to[1], z: m.to[2], t: m.start + m.seconds } : { x: 0, y: 0, z: 0, t: 0 };
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

/** 754 s as "12:34". */
export function clock(seconds: number): string {
  const s = Math.round(seconds);
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}

/** The way of one tool as pieces for the scene: each (x, y, z, x, y, z). */
export function wayOf(run: Run, tool: number): { feed: number[][]; rapid: number[][] } {
  const feed: number[][] = [], rapid: number[][] = [];
  run.moves.forEach((m, i) => {
    if (i > 0 && m.tool === tool && m.kind !== "wait") (m.kind === "rapid" ? rapid : feed).push([...run.moves[i - 1].to, ...m.to]);
  });
  return { feed, rapid };
}
