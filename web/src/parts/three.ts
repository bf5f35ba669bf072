import {
  AlwaysStencilFunc, AmbientLight, BackSide, BoxGeometry, BufferGeometry, CircleGeometry, Color, CylinderGeometry, DirectionalLight, EdgesGeometry, EqualStencilFunc, ExtrudeGeometry,
  Float32BufferAttribute, Group, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, NotEqualStencilFunc, PerspectiveCamera, PlaneGeometry, Quaternion, Raycaster,
  ReplaceStencilOp, Scene, Shape, Vector2, Vector3, WebGLRenderer, type Material, type Object3D,
} from "three";
import { toCreasedNormals } from "three/examples/jsm/utils/BufferGeometryUtils.js";

type Three = [number, number, number];
interface Mantle { points: number[]; faces: number[]; feature?: number[]; names?: string[] }
/** As `/api/scene` says it (docs/api.md): lengths in m. */
export interface SceneData {
  plate: { size: Three; corner?: number; outline?: number[][] } | null; nests: { id: string; at: number[]; turn?: number }[];
  part: { size: Three; corner?: number; triangles: Mantle | null; edges?: number[][] } | null; raw?: { size: Three } | null;
  casting?: { triangles: Mantle; edges?: number[][]; stock?: number[] } | null;
  pins?: { at: number[]; diameter: number; kind: string; height?: number; of?: string }[];
  screws?: { at: number[]; thread: string; head?: number; of?: string }[];
  pads?: { at: number[]; diameter: number; of?: string }[]; holes?: { at: number[]; diameter: number }[]; notes?: string[];
  contacts?: { at: number[]; normal?: number[]; kind?: string; of?: string }[];
  anchors?: { at: number[]; diameter?: number }[]; run_off?: Relief[]; pockets?: Relief[]; ribs?: Relief[];
}
/** A recess or a rib of the plate: the middle of its top, in the pallet's axes. */
interface Relief { at: number[]; size: Three; turn?: number; round?: boolean }
/** Where a tool stands: its tip in the pallet's axes, m. */
export interface ToolAt { at: number[]; diameter: number; long: number; words: string }
/** The way of a program: pieces of (x, y, z) in the pallet's axes, told apart by whether they cut. */
export interface Way { feed: number[][]; rapid: number[][] }
export type Layer = "skin" | "holding" | "run_off" | "parts";
/** What the plan says while a trial runs, in m: the scene follows at once. */
export interface Live { plate?: number[]; nests: { x: number; y: number }[] }
export interface Shown {
  end: () => void; alight: (feature: string) => void; live: (now: Live) => void; layer: (name: Layer, on: boolean) => void;
  from: (view: "above" | "front" | "corner") => void; tool: (now: ToolAt | null) => void; way: (now: Way | null) => void;
}
interface Ways { picked: (feature: string) => void; label: (length: number) => string; nest: (id: string) => string }

const css = (name: string) => new Color(getComputedStyle(document.documentElement).getPropertyValue(name).trim());

function mantle(m: Mantle): BufferGeometry {
  const g = new BufferGeometry();
  g.setAttribute("position", new Float32BufferAttribute(m.points, 3));
  g.setIndex(m.faces);
  return toCreasedNormals(g, 0.6); // no index: triangle i is face i of the answer
}

function polylines(all: number[][]): BufferGeometry {
  const at: number[] = [];
  for (const line of all) for (let i = 0; i + 5 < line.length; i += 3) at.push(...line.slice(i, i + 6));
  const g = new BufferGeometry();
  g.setAttribute("position", new Float32BufferAttribute(at, 3));
  return g;
}

interface Figure { at: Vector3; level: number; facing?: Vector3 }
const MOST = 0.006; // deeper than this is no skin but solid metal over a hole

/** Lines of equal stock on the casting's skin, with figures on them and one figure on each flat side. */
function contours(m: Mantle, stock: number[], step: number): { lines: BufferGeometry; figures: Figure[] } {
  const out: number[] = [];
  const best = new Map<number, { at: Vector3; z: number }>();
  const corner = (i: number) => new Vector3(m.points[3 * i], m.points[3 * i + 1], m.points[3 * i + 2]);
  const sides = [[0, 0, 1], [0, -1, 0], [0, 1, 0], [1, 0, 0], [-1, 0, 0]].map((n) => ({ n: new Vector3(...n), flat: [] as { at: Vector3; level: number; area: number }[] }));
  for (let f = 0; f + 2 < m.faces.length; f += 3) {
    const [a, b, c] = [m.faces[f], m.faces[f + 1], m.faces[f + 2]];
    const low = Math.min(stock[a], stock[b], stock[c]), high = Math.max(stock[a], stock[b], stock[c]);
    const p = corner(a), up = corner(b).sub(p).cross(corner(c).sub(p));
    const area = up.length() / 2;
    up.normalize();
    const middle = p.clone().add(corner(b)).add(corner(c)).divideScalar(3);
    if (low >= 0 && high < MOST) sides.find((s) => s.n.dot(up) > 0.97)?.flat.push({ at: middle, level: (stock[a] + stock[b] + stock[c]) / 3, area });
    for (let n = Math.max(0, Math.ceil(low / step)); n * step < high && n * step > low && n * step <= MOST; n++) {
      const level = n * step, ends: Vector3[] = [];
      for (const [i, j] of [[a, b], [b, c], [c, a]])
        if (stock[i] > level !== stock[j] > level) ends.push(corner(i).lerp(corner(j), (level - stock[i]) / (stock[j] - stock[i])));
      if (ends.length !== 2) continue;
      out.push(...ends[0].toArray(), ...ends[1].toArray());
      const at = ends[0].clone().lerp(ends[1], 0.5);
      const z = at.z - 0.3 * at.y; // the figure stands where it is best seen: high, towards the door
      if (!best.has(n) || z > best.get(n)!.z) best.set(n, { at, z });
    }
  }
  const lines = new BufferGeometry();
  lines.setAttribute("position", new Float32BufferAttribute(out, 3));
  const figures: Figure[] = sides.flatMap(({ n, flat }) => {
    if (!flat.length) return [];
    flat.sort((x, y) => x.level - y.level);
    let half = flat.reduce((sum, x) => sum + x.area, 0) / 2;
    const median = flat.find((x) => (half -= x.area) <= 0) ?? flat[0];
    return [{ at: median.at, level: median.level, facing: n }];
  });
  return { lines, figures: [...figures, ...[...best].map(([n, b]) => ({ at: b.at, level: n * step }))] };
}

/** Draws the scene on the canvas as line work; labels stand in `over`. */
export function show(canvas: HTMLCanvasElement, over: HTMLElement, data: SceneData, ways: Ways): Shown {
  const renderer = new WebGLRenderer({ canvas, antialias: true, stencil: true, preserveDrawingBuffer: true });
  const scene = new Scene();
  const world = new Group();
  const colours = { paper: css("--paper"), sheet: css("--sheet"), ink: css("--ink"), soft: css("--soft"), faint: css("--faint"), warm: css("--warm") };
  scene.background = colours.paper;
  scene.add(new AmbientLight(0xffffff, 2.2), world);
  const sky = new DirectionalLight(0xffffff, 1.1);
  sky.position.set(-1, -2, 3);
  scene.add(sky);
  const line = (color: Color, opacity = 1) => new LineBasicMaterial({ color, transparent: opacity < 1, opacity });
  const ink = line(colours.ink), soft = line(colours.soft), faint = line(colours.faint);
  const face = (color: Color, more = {}) => new MeshLambertMaterial({ color, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1, ...more });
  const chalk = face(colours.sheet), dark = face(colours.ink), iron = face(colours.sheet.clone().lerp(colours.faint, 0.28));
  const layers: Record<Layer, Object3D[]> = { skin: [], holding: [], run_off: [], parts: [] };
  const labels: { at: Vector3; of: Object3D; words: HTMLElement; facing?: Vector3 }[] = [];
  const say = (words: string, at: Vector3, of: Object3D, kind = "", facing?: Vector3) => {
    const el = document.createElement("span");
    el.textContent = words;
    el.className = kind;
    el.setAttribute("aria-hidden", "true");
    over.append(el);
    labels.push({ at, of, words: el, facing });
    return el;
  };
  const solid = (g: BufferGeometry, material: Material, edges = ink) => {
    const group = new Group();
    group.add(new Mesh(g, material), new LineSegments(new EdgesGeometry(g, 28), edges));
    return group;
  };

  // the plate: its top is z = 0, so that a trial's thickness grows downwards; troughs and pockets are seen into where
  // their mouths lie, by the stencil: first the mouths, then the plate beside them, then what is inside
  const seeThrough = (func: typeof EqualStencilFunc | typeof NotEqualStencilFunc) => ({ stencilWrite: true, stencilRef: 1, stencilFunc: func });
  const flat = data.plate?.size ?? ([1, 1, 1] as Three);
  const plateGeometry = () => {
    const outline = data.plate?.outline ?? [];
    if (outline.length < 3) return new BoxGeometry(1, 1, 1).translate(0, 0, -0.5);
    const g = new ExtrudeGeometry(new Shape(outline.map((p) => new Vector2(p[0] / flat[0], p[1] / flat[1]))), { depth: 1, bevelEnabled: false });
    return g.translate(0, 0, -1);
  };
  const plate = data.plate && solid(plateGeometry(), face(colours.sheet, seeThrough(NotEqualStencilFunc)));
  if (plate && data.plate) {
    plate.scale.set(...data.plate.size);
    plate.children[0].renderOrder = -2;
    world.add(plate);
  }
  const mouth = new MeshBasicMaterial({ colorWrite: false, depthWrite: false, depthTest: false, stencilWrite: true, stencilRef: 1, stencilFunc: AlwaysStencilFunc, stencilZPass: ReplaceStencilOp });
  const inside = face(colours.sheet.clone().lerp(colours.faint, 0.62), { side: BackSide, ...seeThrough(EqualStencilFunc) });
  for (const r of [...(data.run_off ?? []), ...(data.pockets ?? [])]) {
    const [x, y, z] = r.size;
    const body = r.round ? new CylinderGeometry(x / 2, x / 2, z, 36).rotateX(Math.PI / 2) : new BoxGeometry(x, y, z);
    const g = new Group();
    g.position.set(r.at[0], r.at[1], (r.at[2] ?? 0) - z / 2);
    g.rotation.z = r.turn ?? 0;
    const mouths = [new Mesh(r.round ? new CircleGeometry(x / 2, 36) : new PlaneGeometry(x, y), mouth)];
    mouths[0].position.z = z / 2;
    // a trough that reaches an edge is open there as well
    if (!r.round) for (const [nx, ny] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      const n = new Vector3(nx, ny, 0), end = n.clone().multiply(new Vector3(x / 2, y / 2, 0)).applyQuaternion(g.quaternion).add(g.position);
      if (Math.abs(end.x) < flat[0] / 2 - 1e-4 && Math.abs(end.y) < flat[1] / 2 - 1e-4) continue;
      const open = new Mesh(new PlaneGeometry(nx ? z : x, nx ? y : z), mouth);
      open.position.set((nx * x) / 2, (ny * y) / 2, 0);
      open.quaternion.setFromUnitVectors(new Vector3(0, 0, 1), n);
      mouths.push(open);
    }
    const hollow = new Mesh(body, inside);
    mouths.forEach((m) => (m.renderOrder = -3));
    hollow.renderOrder = -1;
    g.add(...mouths, hollow, new LineSegments(new EdgesGeometry(body, 28), soft));
    layers.run_off.push(g);
    world.add(g);
  }
  for (const r of data.ribs ?? []) {
    const g = solid(r.round ? new CylinderGeometry(r.size[0] / 2, r.size[0] / 2, r.size[2], 36).rotateX(Math.PI / 2) : new BoxGeometry(...r.size), chalk);
    g.position.set(r.at[0], r.at[1], (r.at[2] ?? 0) - r.size[2] / 2);
    g.rotation.z = r.turn ?? 0;
    layers.run_off.push(g);
    world.add(g);
  }

  // one part, shown in every nest
  const tri = data.part?.triangles ?? null;
  const high = data.part?.size[2] ?? 0;
  const partGeometry = tri ? mantle(tri) : data.part ? new BoxGeometry(...data.part.size).translate(0, 0, high / 2) : null;
  const partEdges = data.part?.edges?.length ? polylines(data.part.edges) : partGeometry && new EdgesGeometry(partGeometry, 28);
  const named = (i: number | undefined) => (tri?.feature && i !== undefined ? tri.names?.[tri.feature[i]] ?? "" : "");
  const lit = face(colours.sheet.clone().lerp(colours.warm, 0.4), { polygonOffsetFactor: -1, polygonOffsetUnits: -1 });
  const litEdges = line(colours.warm);
  const skin = data.casting ? mantle(data.casting.triangles) : data.raw ? new BoxGeometry(...data.raw.size).translate(0, 0, high / 2) : null;
  const skinEdges = data.casting?.edges?.length ? polylines(data.casting.edges) : skin && new EdgesGeometry(skin, 28);
  const stock = data.casting?.stock ? contours(data.casting.triangles, data.casting.stock, 0.001) : null;
  const picks: Mesh[] = [];
  const front = data.nests.reduce((best, nest, i) => (nest.at[1] - 0.5 * nest.at[0] < data.nests[best].at[1] - 0.5 * data.nests[best].at[0] ? i : best), 0);
  const nests = data.nests.map((nest, n) => {
    const at = new Group();
    at.position.set(nest.at[0], nest.at[1], nest.at[2] ?? 0);
    at.rotation.z = nest.turn ?? 0;
    const part = new Group();
    if (partGeometry) {
      const body = new Mesh(partGeometry, iron);
      picks.push(body);
      part.add(body, new LineSegments(partEdges!, ink));
    }
    layers.parts.push(part);
    at.add(part);
    if (skin) {
      const around = new Group();
      around.add(new Mesh(skin, new MeshLambertMaterial({ color: colours.faint, transparent: true, opacity: 0.16, depthWrite: false })), new LineSegments(skinEdges!, faint));
      if (stock) {
        around.add(new LineSegments(stock.lines, soft));
        if (n === front) stock.figures.forEach((l) => say(ways.label(l.level), l.at, around, "stock", l.facing));
      }
      layers.skin.push(around);
      at.add(around);
    }
    if (ways.nest(nest.id)) say(ways.nest(nest.id), new Vector3(0, 0, high + 0.02), at, "nest");
    world.add(at);
    return at;
  });
  const stud = (at: number[], r: number, tall: number, of: Object3D, material = dark) => {
    const c = solid(new CylinderGeometry(r, r, tall, 28).rotateX(Math.PI / 2), material, material === dark ? soft : ink);
    c.position.set(at[0], at[1], (at[2] ?? 0) + tall / 2);
    layers.holding.push(c);
    of.add(c);
  };
  const places = (p: { of?: string }) => (p.of === "nest" ? nests : [world]);
  for (const p of data.pins ?? []) for (const of of places(p)) stud(p.at, p.diameter / 2, p.height ?? 0.006, of);
  for (const p of data.screws ?? []) for (const of of places(p)) stud(p.at, (p.head ?? 0.016) / 2, 0.008, of);
  for (const p of data.pads ?? []) for (const of of places(p)) stud(p.at, p.diameter / 2, 0.0006, of, chalk);
  for (const p of data.holes ?? []) stud([p.at[0], p.at[1], 0], p.diameter / 2, 0.0008, world);
  for (const p of (data.contacts ?? []).filter((c) => c.normal)) for (const of of places(p)) {
    const c = solid(new CylinderGeometry(0, 0.006, 0.014, 16), dark, soft); // a cone whose point touches
    const n = new Vector3(...(p.normal as Three)).normalize(); // outward from the part
    c.quaternion.setFromUnitVectors(new Vector3(0, -1, 0), n);
    c.position.set(p.at[0], p.at[1], p.at[2] ?? 0).addScaledVector(n, 0.007);
    layers.holding.push(c);
    of.add(c);
  }
  for (const p of data.anchors ?? []) stud([p.at[0], p.at[1], -(data.plate?.size[2] ?? 0) - 0.018], (p.diameter ?? 0.04) / 2, 0.018, world, chalk);

  // a feature that is alight: its faces again, in the warm tone, with its name beside it
  let bright: Object3D[] = [], name: HTMLElement | null = null;
  const alight = (feature: string) => {
    bright.forEach((b) => b.removeFromParent());
    bright = [];
    name?.remove();
    const old = labels.findIndex((l) => l.words === name);
    if (old >= 0) labels.splice(old, 1);
    name = null;
    const k = tri?.names?.indexOf(feature) ?? -1;
    if (k >= 0 && partGeometry && tri?.feature) {
      const p = partGeometry.getAttribute("position"), normal = partGeometry.getAttribute("normal");
      const at: number[] = [], up: number[] = [];
      tri.feature.forEach((f, i) => {
        if (f !== k) return;
        for (let v = 3 * i; v < 3 * i + 3; v++) {
          at.push(p.getX(v), p.getY(v), p.getZ(v));
          up.push(normal.getX(v), normal.getY(v), normal.getZ(v));
        }
      });
      const g = new BufferGeometry();
      g.setAttribute("position", new Float32BufferAttribute(at, 3));
      g.setAttribute("normal", new Float32BufferAttribute(up, 3));
      g.computeBoundingBox();
      const rim = new EdgesGeometry(g, 28);
      bright = nests.map((n) => {
        const group = new Group();
        group.add(new Mesh(g, lit), new LineSegments(rim, litEdges));
        n.add(group);
        return group;
      });
      const middle = g.boundingBox!.getCenter(new Vector3());
      middle.z = g.boundingBox!.max.z;
      if (nests[0]) name = say(feature, middle, nests[0], "lit");
    }
    draw();
  };

  // the tool of a program, and its way
  let bit: Object3D | null = null, bitWords: HTMLElement | null = null, path: Object3D[] = [];
  const forget = (words: HTMLElement | null) => {
    words?.remove();
    const k = labels.findIndex((l) => l.words === words);
    if (k >= 0) labels.splice(k, 1);
  };
  const tool = (now: ToolAt | null) => {
    bit?.removeFromParent();
    bit?.traverse((o) => (o as Mesh).geometry?.dispose());
    forget(bitWords);
    bit = bitWords = null;
    if (now) {
      const r = Math.max(0.0005, now.diameter / 2), long = Math.max(now.long, 2 * r);
      const group = new Group();
      const cutter = solid(new CylinderGeometry(r, r, long, 28).rotateX(Math.PI / 2), lit, litEdges), shank = solid(new CylinderGeometry(Math.max(0.011, r * 0.8), Math.max(0.011, r * 0.8), 0.03, 28).rotateX(Math.PI / 2), chalk, soft);
      cutter.position.z = long / 2;
      shank.position.z = long + 0.015;
      group.add(cutter, shank);
      group.position.set(now.at[0], now.at[1], now.at[2]);
      world.add(group);
      bit = group;
      bitWords = say(now.words, new Vector3(0, 0, long + 0.03), group, "lit");
    }
    draw();
  };
  const way = (now: Way | null) => {
    path.forEach((o) => {
      o.removeFromParent();
      (o as Mesh).geometry.dispose();
    });
    path = now ? [new LineSegments(polylines(now.rapid), soft), new LineSegments(polylines(now.feed), litEdges)] : [];
    path.forEach((o) => world.add(o));
    draw();
  };

  const span = Math.max(data.plate?.size[0] ?? 0, data.part?.size[0] ?? 0, 0.1);
  const camera = new PerspectiveCamera(30, 1, span / 50, span * 20);
  camera.up.set(0, 0, 1);
  let turn = -1.05, tilt = 0.62, far = span * 1.95;
  const seen = new Vector3();
  const draw = () => {
    const w = canvas.clientWidth, h = canvas.clientHeight;
    renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    renderer.setSize(w, h, false);
    camera.aspect = w / Math.max(1, h);
    camera.updateProjectionMatrix();
    const away = far * Math.max(1, 1.35 / camera.aspect); // narrow screens step back
    camera.position.set(away * Math.cos(tilt) * Math.cos(turn), away * Math.cos(tilt) * Math.sin(turn), away * Math.sin(tilt));
    camera.lookAt(0, 0, 0);
    renderer.render(scene, camera);
    const taken: { x: number; y: number; wide: number }[] = [];
    const first = (l: { words: HTMLElement }) => (l.words.className === "lit" ? 0 : l.words.className === "nest" ? 1 : 2);
    for (const l of [...labels].sort((a, b) => first(a) - first(b))) {
      l.of.localToWorld(seen.copy(l.at));
      const turned = l.facing && l.facing.clone().applyQuaternion(l.of.getWorldQuaternion(new Quaternion())).dot(camera.position.clone().sub(seen)) <= 0;
      seen.project(camera);
      const x = ((seen.x + 1) / 2) * w, y = ((1 - seen.y) / 2) * h, wide = 8 * (l.words.textContent?.length ?? 0) + 8;
      // a word that would stand on another one is left out
      const crowded = taken.some((o) => Math.abs(o.y - y) < 18 && Math.abs(o.x - x) < (o.wide + wide) / 2);
      l.words.hidden = !l.of.visible || !!turned || crowded || Math.abs(seen.x) > 1 || Math.abs(seen.y) > 1;
      if (!l.words.hidden) taken.push({ x, y: l.words.className === "lit" ? y - 24 : y, wide });
      l.words.style.left = `${x}px`;
      l.words.style.top = `${y}px`;
    }
  };
  const move = (dx: number, dy: number) => {
    turn -= dx;
    tilt = Math.max(0.05, Math.min(1.55, tilt + dy));
    draw();
  };
  const near = (by: number) => {
    far = Math.max(span * 0.5, Math.min(span * 8, far * by));
    draw();
  };

  const stop = new AbortController();
  const on = (event: string, f: (e: any) => void) => canvas.addEventListener(event, f, { signal: stop.signal, passive: false } as AddEventListenerOptions);
  const fingers = new Map<number, { x: number; y: number }>();
  let walked = 0;
  const apart = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  const pick = (e: PointerEvent) => {
    const box = canvas.getBoundingClientRect();
    const ray = new Raycaster();
    ray.setFromCamera(new Vector2(((e.clientX - box.left) / box.width) * 2 - 1, 1 - ((e.clientY - box.top) / box.height) * 2), camera);
    const hit = ray.intersectObjects(picks)[0];
    ways.picked(hit ? named(hit.faceIndex ?? undefined) : "");
  };
  on("pointerdown", (e) => {
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    walked = 0;
    canvas.setPointerCapture(e.pointerId);
  });
  on("pointerup", (e) => {
    if (fingers.size === 1 && walked < 5) pick(e);
    fingers.delete(e.pointerId);
  });
  on("pointercancel", (e) => fingers.delete(e.pointerId));
  on("pointermove", (e) => {
    const was = fingers.get(e.pointerId);
    if (!was) return;
    const before = fingers.size === 2 ? apart() : 0;
    const dx = e.clientX - was.x, dy = e.clientY - was.y;
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    walked += Math.abs(dx) + Math.abs(dy);
    if (fingers.size === 2) near(before / Math.max(1, apart()));
    else if (walked >= 5) move(dx / 160, dy / 160);
  });
  on("wheel", (e) => {
    e.preventDefault();
    near(Math.exp(e.deltaY / 900));
  });
  on("keydown", (e) => {
    const step: Record<string, [number, number]> = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.08], ArrowDown: [0, -0.08] };
    if (step[e.key]) move(...step[e.key]);
    else if (e.key === "+") near(0.9);
    else if (e.key === "-") near(1.1);
    else return;
    e.preventDefault();
  });
  const size = new ResizeObserver(draw);
  size.observe(canvas);
  draw();
  return {
    alight, tool, way,
    live: (now) => {
      if (plate && now.plate?.length === 3) plate.scale.set(...(now.plate as Three));
      now.nests.forEach((p, i) => nests[i]?.position.set(p.x, p.y, nests[i].position.z));
      draw();
    },
    layer: (which, visible) => {
      layers[which].forEach((o) => (o.visible = visible));
      draw();
    },
    from: (view) => {
      [turn, tilt] = view === "above" ? [-Math.PI / 2, 1.55] : view === "front" ? [-Math.PI / 2, 0.12] : [-1.05, 0.62];
      draw();
    },
    end: () => {
      stop.abort();
      size.disconnect();
      over.replaceChildren();
      scene.traverse((o) => (o as Mesh).geometry?.dispose());
      renderer.dispose();
    },
  };
}
