// A stand-in for `fettle serve` while the page is built: every answer comes from the real command line (FETTLE=path of the
// executable). Use: FETTLE=... FOLDER=plans/demo node tests/fake.mjs
import { createServer } from "node:http";
import { execFile } from "node:child_process";
import { createHash } from "node:crypto";
import { readFileSync, writeFileSync, existsSync, readdirSync } from "node:fs";
import { join, extname, dirname } from "node:path";
import { fileURLToPath } from "node:url";

const fettle = process.env.FETTLE ?? "fettle";
const folder = process.env.FOLDER ?? ".";
const dist = join(dirname(fileURLToPath(import.meta.url)), "..", "dist");
const md5 = (s) => createHash("md5").update(s).digest("hex");
const run = (args, input) =>
  new Promise((yes) => {
    const child = execFile(fettle, args, { maxBuffer: 1 << 28, cwd: folder }, (_e, out, err) => yes({ out, err }));
    child.stdin.end(input ?? "");
  });
const kept = new Map();
const keep = async (key, make) => (kept.has(key) || kept.set(key, make()), kept.get(key));
const text = (path) => readFileSync(join(folder, path), "utf8");
const study = (path, quick) => keep(`study ${quick} ${md5(text(path))}`, async () => JSON.parse((await run(["study", path, "--json", ...(quick ? ["--quick"] : [])])).out));

function changed(path, changes) {
  let out = text(path);
  const diff = [];
  for (const { key, value } of changes) {
    const lines = out.split("\n"), parts = key.split("."), name = parts.at(-1);
    let at = -1, seen = 0;
    for (let i = 0; i < lines.length && at < 0; i++) {
      const head = /^\[\[?([\w.]+)\]\]?/.exec(lines[i]);
      if (!head || !key.startsWith(head[1].split(".")[0])) continue;
      const plain = parts.filter((p) => /^[a-z_]+$/.test(p)).slice(0, -1).join(".");
      if (head[1] !== plain) continue;
      seen++;
      for (let j = i + 1; j < lines.length && !lines[j].startsWith("["); j++)
        if (lines[j].startsWith(name + " =")) {
          const id = parts.find((p) => /^(OP|T)\w+$/.test(p) || /^\d+$/.test(p));
          const body = lines.slice(i, j).join("\n");
          if (!id || body.includes(`"${id}"`) || Number(id) === seen || parts[1].startsWith("OP")) at = j;
          break;
        }
    }
    if (at < 0) continue;
    const now = `${name} = ${JSON.stringify(value)}`;
    diff.push({ line: at + 1, old: lines[at], new: now });
    lines[at] = now;
    out = lines.join("\n");
  }
  return { out, diff };
}

const tried = { hash: "", undo: [], redo: [] };
const routes = {
  "GET about": () => ({ name: "Fettle", version: "0.0", may: "write", paired: true, lan: false, folder, start: "" }),
  "GET plans": () => ({
    plans: readdirSync(folder).filter((f) => /^plan.*\.toml$/.test(f)).map((path) => ({ path, name: /name = "(.*)"/.exec(text(path))?.[1] ?? path, date: "2026-11-02", hash: md5(text(path)) })),
    files: [{ path: "shop.toml", kind: "shop" }],
  }),
  "GET plan": (q) => ({ path: q.path, name: q.path, hash: md5(text(q.path)), text: text(q.path), units: "metric", values: [], undo: tried.undo.length, redo: tried.redo.length }),
  "GET study": async (q) => ({ ...(await study(q.path, true)), hash: md5(text(q.path)), job: "1:" + q.path, done: !q.whole }),
  "GET study/next": async (q) => ({ step: 1, done: true, doing: "", study: { ...(await study(q.job.slice(2), false)), hash: md5(text(q.job.slice(2))) } }),
  "GET levers": async (q) => keep(`levers ${q.finding} ${md5(text(q.path))}`, async () => JSON.parse((await run(["levers", q.path, q.finding, "--json"])).out)),
  "POST try": async (_q, b) => {
    const { out, diff } = changed(b.path, b.changes);
    writeFileSync(join(folder, ".trial.toml"), out);
    const [before, after] = [await study(b.path, true), JSON.parse((await run(["study", ".trial.toml", "--json", "--quick"])).out || "{}")];
    if (!after.findings) return [400, { problems: [{ where: b.changes[0].key, found: String(b.changes[0].value), expected: "a value of that kind" }] }];
    const old = Object.fromEntries(before.findings.map((f) => [f.id, { state: f.state, margin: f.margin, value: f.value, value_text: f.value_text }]));
    const moved = after.findings.filter((f) => old[f.id] && (old[f.id].margin !== f.margin || old[f.id].state !== f.state)).map((f) => ({ id: f.id, title: f.title, before: old[f.id].state, after: f.state, margin_before: old[f.id].margin, margin_after: f.margin }));
    return { hash: b.hash, after: md5(out), verdict: after.verdict, counts: after.counts, findings: after.findings, old, moved, diff, ms: 1 };
  },
  "POST accept": (_q, b) => {
    const now = text(b.path);
    if (md5(now) !== b.hash) return [409, { hash: md5(now), mine: changed(b.path, b.changes).out, theirs: now, overlap: b.changes.map((c) => c.key), kept: "mine.toml" }];
    tried.undo.push(now);
    writeFileSync(join(folder, b.path), changed(b.path, b.changes).out);
    return { hash: md5(text(b.path)), undo: tried.undo.length, redo: 0 };
  },
  "POST undo": (_q, b) => {
    tried.redo.push(text(b.path));
    writeFileSync(join(folder, b.path), tried.undo.pop());
    return { hash: md5(text(b.path)), undo: tried.undo.length, redo: tried.redo.length, key: "" };
  },
  "POST redo": (_q, b) => {
    tried.undo.push(text(b.path));
    writeFileSync(join(folder, b.path), tried.redo.pop());
    return { hash: md5(text(b.path)), undo: tried.undo.length, redo: tried.redo.length, key: "" };
  },
  "GET changes": (q) => new Promise((yes) => setTimeout(() => yes({ hash: md5(text(q.path)), changed: md5(text(q.path)) !== q.after, by: "" }), 3000)),
  "GET reckoners": async () => ({ reckoners: await keep("reckoners", async () => JSON.parse((await run(["reckon", "--json"])).out)) }),
  "POST reckon": async (_q, b) => JSON.parse((await run(["reckon", b.name, "--json"], JSON.stringify(b.inputs))).out),
  "POST plot": async (_q, b) => {
    const [from, to] = [parseFloat(b.from), parseFloat(b.to)], unit = b.from.replace(/^[-\d.]+/, ""), y = {}, texts = [];
    for (let i = 0; i < 13; i++) {
      const v = from + ((to - from) * i) / 12;
      texts.push(`${v.toPrecision(4)}${unit}`);
      const a = JSON.parse((await run(["reckon", b.name, "--json"], JSON.stringify({ ...b.inputs, [b.over]: texts[i] }))).out);
      for (const [k, o] of Object.entries(a.outputs ?? {})) if (o.si !== undefined) (y[k] ??= [])[i] = o.si;
    }
    return { over: b.over, unit: unit.trim(), x: texts.map((s) => parseFloat(s)), y, texts, beyond: texts.map(() => false) };
  },
  "GET ask": async (q) => {
    const words = q.words.toLowerCase().split(/\W+/).filter((w) => w.length > 2);
    const all = await routes["GET reckoners"]();
    return { hits: all.reckoners.map((r) => ({ kind: "reckoner", name: r.name, title: r.question, n: words.filter((w) => (r.question + r.name).toLowerCase().includes(w)).length })).filter((h) => h.n).sort((a, b) => b.n - a.n).slice(0, 8) };
  },
  "GET flat": (q) => ({ up: q.up, model: false, box: [0, 0, 0, 0], back: [], faces: [], sides: [], marks: [] }),
  "GET drawings": () => ({ drawings: [] }),
  "GET floor": () => ({
    plan: "fake", hash: "", units: "metric", changed: [], entries: [],
    operations: [{ id: "OP30", name: "everything on top, on pallets", machine: "B", nests: [1, 2, 3, 4].map((id) => ({ id: String(id), at: [((id - 1) % 2 ? 1 : -1) * 0.078, id > 2 ? 0.057 : -0.057, 0] })), do: [{ tab: "torque", what: "tighten the screws", value: "22 N·m", key: "pallet.screw.1.torque", caution: "" }], measure: [{ id: "F2.size", what: "counterbore, size", limit: "50.000 to 50.039 mm", lower: 0.05, upper: 0.050039, kind: "size" }] }],
  }),
  "POST entry": () => ({ kept: true, twice: false }),
};

const types = { ".html": "text/html", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml", ".woff2": "font/woff2", ".woff": "font/woff" };
const server = createServer(async (req, res) => {
  const url = new URL(req.url, "http://x");
  res.setHeader("Content-Security-Policy", "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; object-src 'none'");
  const send = (code, body) => (res.writeHead(code, { "content-type": "application/json" }), res.end(JSON.stringify(body)));
  if (url.pathname.startsWith("/api/")) {
    let body = "";
    for await (const part of req) body += part;
    const route = routes[`${req.method} ${url.pathname.slice(5)}`];
    if (!route) return send(404, { problems: [{ where: url.pathname, found: "no such route" }] });
    try {
      const out = await route(Object.fromEntries(url.searchParams), body ? JSON.parse(body) : {});
      return Array.isArray(out) ? send(out[0], out[1]) : send(200, out);
    } catch (e) {
      return send(500, { problems: [{ where: url.pathname, found: String(e) }] });
    }
  }
  const file = join(dist, url.pathname === "/" ? "index.html" : url.pathname);
  if (!existsSync(file)) return send(404, {});
  res.writeHead(200, { "content-type": types[extname(file)] ?? "application/octet-stream" });
  res.end(readFileSync(file));
});
server.listen(Number(process.env.PORT ?? 8190), "127.0.0.1", () => console.log(`http://127.0.0.1:${server.address().port}/`));
