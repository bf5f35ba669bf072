// A scene as docs/api.md describes it, made by hand: four prisms with a stepped hole on a plate, a casting skin around each.
import { ExtrudeGeometry, Path, Shape } from "three";

function prism(length, width, high, radius, hole) {
  const s = new Shape();
  const [x, y] = [length / 2, width / 2];
  s.moveTo(-x + radius, -y).lineTo(x - radius, -y).absarc(x - radius, -y + radius, radius, -Math.PI / 2, 0, false).lineTo(x, y - radius)
    .absarc(x - radius, y - radius, radius, 0, Math.PI / 2, false).lineTo(-x + radius, y).absarc(-x + radius, y - radius, radius, Math.PI / 2, Math.PI, false)
    .lineTo(-x, -y + radius).absarc(-x + radius, -y + radius, radius, Math.PI, 1.5 * Math.PI, false);
  s.holes.push(new Path().absarc(0, 0, hole, 0, 2 * Math.PI, true));
  return new ExtrudeGeometry(s, { depth: high, bevelEnabled: false, curveSegments: 12 });
}
/** Triangles with the feature of each: what looks up, down, inward, outward. */
function mantle(g, hole) {
  const points = [...g.getAttribute("position").array], n = g.getAttribute("normal");
  const faces = points.slice(0, points.length / 3).map((_, i) => i);
  const feature = [];
  for (let i = 0; i < faces.length; i += 3) {
    const up = n.getZ(i), inside = Math.hypot(points[3 * i], points[3 * i + 1]) < hole * 1.01;
    feature.push(up > 0.5 ? 0 : up < -0.5 ? 1 : inside ? 3 : 2);
  }
  return { points, faces, feature, names: ["F11", "A", "F1", "F2"] };
}
const part = mantle(prism(0.132, 0.092, 0.036, 0.012, 0.025), 0.025);
const skin = mantle(prism(0.1363, 0.0971, 0.0399, 0.013, 0.023), 0.023);
for (let i = 2; i < skin.points.length; i += 3) skin.points[i] -= 0.0019;
export const scene = {
  plate: { size: [0.33, 0.25, 0.025], corner: 0 }, nests: [[-1, -1], [1, -1], [-1, 1], [1, 1]].map(([x, y], i) => ({ id: String(i + 1), at: [x * 0.078, y * 0.057, 0], turn: 0 })),
  part: { size: [0.132, 0.092, 0.036], corner: 0.012, triangles: part },
  casting: { triangles: skin, stock: skin.points.map((v, i) => (i % 3 ? null : 0.0019 + v * 0.02)).filter((v) => v !== null) },
  pins: [{ at: [-0.044, -0.034, 0], diameter: 0.008, kind: "round", height: 0.003, of: "nest" }], screws: [{ at: [0.054, 0, 0.036], thread: "M8", of: "nest" }, { at: [-0.054, 0, 0.036], thread: "M8", of: "nest" }],
  anchors: [[-1, -1], [1, -1], [-1, 1], [1, 1]].map(([x, y]) => ({ at: [x * 0.105, y * 0.075, 0], diameter: 0.04 })),
  run_off: [-0.078, 0.078].map((x) => ({ at: [x, 0, 0], size: [0.024, 0.25, 0.01] })), units: "metric",
};
