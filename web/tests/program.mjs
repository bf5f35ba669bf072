// A program as docs/api.md describes it, made by hand: two tools at three nests of two pallets, a frame milled and two holes.
const mm = (...v) => v.map((x) => x / 1e3);
const moves = [];
let start = 0;
const move = (line, tool, nest, kind, to, seconds, more = {}) => {
  moves.push({ line, tool, nest, kind, to: mm(...to), start, seconds, feed: kind === "rapid" ? 0.4 : kind === "feed" ? 0.0128 : 0, ...more });
  start += seconds;
};
[["1.1", -78, -57], ["1.2", 78, -57], ["2.1", -78, -57]].forEach(([nest, x, y]) => {
  move(4, 0, nest, "rapid", [x - 70, y - 50, 60], 1);
  move(5, 0, nest, "rapid", [x - 70, y - 50, 10], 0.5);
  move(6, 0, nest, "feed", [x + 70, y - 50, 10], 12, { engaged: "2.50 mm deep, 61° of the cutter, 12.4 cm³/min", depth: 0.0025, arc: 1.06, rate: 2.07e-7 });
  move(7, 0, nest, "feed", [x + 70, y + 50, 10], 8);
  move(8, 0, nest, "rapid", [x + 70, y + 50, 60], 0.5);
});
[["1.1", -78, -57], ["1.2", 78, -57]].forEach(([nest, x, y]) => {
  move(11, 1, nest, "rapid", [x, y, 60], 1);
  move(12, 1, nest, "feed", [x, y, 20], 6);
  move(13, 1, nest, "wait", [x, y, 20], 0.4);
  move(14, 1, nest, "rapid", [x, y, 60], 0.5);
});
export const program = {
  operation: "OP30", words: "everything on top", units: "m", file: "op30.nc", from: "made", timed: true, total: start, moves,
  text: ["%", "O300", "T11 M6", "G0 X-70. Y-50.", "Z10.", "G1 X70. F770", "Y50.", "G0 Z60.", "T16 M6", "G0 X0. Y0.", "Z60.", "G1 Z20. F400", "G4 P400", "G0 Z60.", "M30"],
  tools: [{ name: "T11", words: "end mill 16", diameter: 0.016, long: 0.05, seconds: 66, nests: {} }, { name: "T16", words: "drill 8", diameter: 0.008, long: 0.06, seconds: 15.8, nests: {} }],
  nests: [], counts: { outside: 1, tight: 0, beyond: 0, open: 1, inside: 7 },
  findings: [{ id: "op30.-.line.7", state: "outside", title: "gouge", sentence: "Line 7 cuts 0.20 mm into the finished part.", tool: "T11", nest: "1.1", line: 7, missing: [] },
    { id: "op30.-.pads", state: "open", title: "what lies under the part", sentence: "", tool: "", nest: "", line: 0, missing: ["pallet.pad.height"] }],
  missing: [], notes: [], not_looked_at: [], left_out: { moves: 0, lines: 0, findings: 0 }, caution: "A proof on paper is no leave to run: prove out above the parts, single block, with a hand on the feed.",
};
