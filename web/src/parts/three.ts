import {
  AmbientLight, BoxGeometry, BufferGeometry, Color, CylinderGeometry, DirectionalLight, EdgesGeometry, Float32BufferAttribute, Group, LineBasicMaterial,
  LineSegments, Mesh, MeshLambertMaterial, PerspectiveCamera, Scene, WebGLRenderer,
} from "three";

interface SceneData {
  plate: { size: number[]; corner: number } | null; nests: { id: string; at: number[]; turn: number }[];
  part: { size: number[]; triangles: { points: number[]; faces: number[] } | null } | null; raw: { size: number[] } | null;
  pins: { at: number[]; diameter: number; kind: string }[]; screws: { at: number[]; thread: string }[]; anchors: { at: number[] }[];
}

const css = (name: string) => new Color(getComputedStyle(document.documentElement).getPropertyValue(name).trim());

/** Draws the scene on the canvas; gives the function that ends it. */
export function show(canvas: HTMLCanvasElement, data: SceneData): () => void {
  const renderer = new WebGLRenderer({ canvas, antialias: true });
  const scene = new Scene();
  scene.background = css("--paper");
  scene.add(new AmbientLight(0xffffff, 1.9));
  const sun = new DirectionalLight(0xffffff, 1.6);
  sun.position.set(-1, -2, 4);
  scene.add(sun);
  const world = new Group();
  scene.add(world);
  const ink = new LineBasicMaterial({ color: css("--ink") }), faint = new LineBasicMaterial({ color: css("--faint") });
  const solid = (g: BufferGeometry, colour: string, line = ink) => {
    const group = new Group();
    group.add(new Mesh(g, new MeshLambertMaterial({ color: css(colour), polygonOffset: true, polygonOffsetFactor: 1 })));
    group.add(new LineSegments(new EdgesGeometry(g, 25), line));
    return group;
  };
  if (data.plate) {
    const plate = solid(new BoxGeometry(...(data.plate.size as [number, number, number])), "--sheet");
    plate.position.z = -data.plate.size[2] / 2;
    world.add(plate);
  }
  const partGeometry = (() => {
    const tri = data.part?.triangles;
    if (!tri) return data.part ? new BoxGeometry(...(data.part.size as [number, number, number])).translate(0, 0, data.part.size[2] / 2) : null;
    const g = new BufferGeometry();
    g.setAttribute("position", new Float32BufferAttribute(tri.points, 3));
    g.setIndex(tri.faces);
    const flat = g.toNonIndexed();
    flat.computeVertexNormals();
    return flat;
  })();
  for (const nest of data.nests) {
    const at = new Group();
    at.position.set(nest.at[0], nest.at[1], nest.at[2] ?? 0);
    at.rotation.z = nest.turn ?? 0;
    if (partGeometry) at.add(solid(partGeometry, "--faint"));
    if (data.raw && data.part) {
      const skin = new LineSegments(new EdgesGeometry(new BoxGeometry(...(data.raw.size as [number, number, number]))), faint);
      skin.position.z = data.part.size[2] / 2;
      at.add(skin);
    }
    world.add(at);
  }
  const stud = (at: number[], r: number, h: number, colour: string) => {
    const c = solid(new CylinderGeometry(r, r, h, 24).rotateX(Math.PI / 2), colour);
    c.position.set(at[0], at[1], (at[2] ?? 0) + h / 2);
    world.add(c);
  };
  data.pins.forEach((p) => stud(p.at, p.diameter / 2, 0.006, "--ink"));
  data.screws.forEach((p) => stud(p.at, 0.0065, 0.008, "--ink"));
  data.anchors.forEach((p) => stud([p.at[0], p.at[1], -(data.plate?.size[2] ?? 0) - 0.02], 0.02, 0.02, "--soft"));

  const span = Math.max(data.plate?.size[0] ?? 0, data.part?.size[0] ?? 0, 0.1);
  const camera = new PerspectiveCamera(32, 1, span / 50, span * 20);
  camera.up.set(0, 0, 1);
  let turn = -0.9, tilt = 0.75, far = span * 2.3;
  const draw = () => {
    const w = canvas.clientWidth, h = canvas.clientHeight;
    renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    renderer.setSize(w, h, false);
    camera.aspect = w / Math.max(1, h);
    camera.updateProjectionMatrix();
    camera.position.set(far * Math.cos(tilt) * Math.cos(turn), far * Math.cos(tilt) * Math.sin(turn), far * Math.sin(tilt));
    camera.lookAt(0, 0, 0);
    renderer.render(scene, camera);
  };
  const move = (dx: number, dy: number) => {
    turn -= dx;
    tilt = Math.max(0.05, Math.min(1.55, tilt + dy));
    draw();
  };
  let held = false;
  const stop = new AbortController();
  const on = (name: string, f: (e: any) => void) => canvas.addEventListener(name, f, { signal: stop.signal, passive: false } as AddEventListenerOptions);
  on("pointerdown", (e) => { held = true; canvas.setPointerCapture(e.pointerId); });
  on("pointerup", () => { held = false; });
  on("pointermove", (e) => held && move(e.movementX / 160, e.movementY / 160));
  on("wheel", (e) => { e.preventDefault(); far *= Math.exp(e.deltaY / 900); draw(); });
  on("keydown", (e) => {
    const step: Record<string, [number, number]> = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.08], ArrowDown: [0, -0.08] };
    if (step[e.key]) move(...step[e.key]);
    else if (e.key === "+") far *= 0.9;
    else if (e.key === "-") far *= 1.1;
    else return;
    e.preventDefault();
    draw();
  });
  const size = new ResizeObserver(draw);
  size.observe(canvas);
  draw();
  return () => {
    stop.abort();
    size.disconnect();
    renderer.dispose();
  };
}
