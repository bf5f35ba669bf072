// Starts what the browser tests talk to: `fettle serve` over a copy of plans/demo, or the stand-in where FAKE=1.
import { spawn, execFileSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { createServer } from "node:net";

const here = dirname(fileURLToPath(import.meta.url));
const repo = join(here, "..", "..");
export const fettle = process.env.FETTLE ?? join(repo, "build", "fettle");
export const fake = process.env.FAKE === "1";

const freePort = () => new Promise((yes) => { const s = createServer().listen(0, "127.0.0.1", () => { const { port } = s.address(); s.close(() => yes(port)); }); });

export async function serve(more = [], scheme = "http") {
  const folder = mkdtempSync(join(tmpdir(), "fettle-page-"));
  cpSync(join(repo, "plans", "demo"), folder, { recursive: true });
  // every accepted change starts the whole study again: fewer castings are drawn here than in the demo
  const plan = join(folder, "plan-0.toml");
  writeFileSync(plan, readFileSync(plan, "utf8").replace(/^castings = \d+$/m, "castings = 2000"));
  const port = await freePort();
  const child = fake
    ? spawn(process.execPath, [join(here, "fake.mjs")], { env: { ...process.env, FETTLE: fettle, FOLDER: folder, PORT: String(port) } })
    : spawn(fettle, ["serve", folder, "--port", String(port), ...more, ...(process.env.PAGE ? ["--page", process.env.PAGE] : [])]);
  let said = "";
  child.stdout.on("data", (d) => (said += d));
  child.stderr.on("data", (d) => (said += d));
  const base = `${scheme}://127.0.0.1:${port}/`;
  for (let i = 0; i < 150; i++) {
    try {
      if (scheme === "https" ? said.includes("Stop with") : (await fetch(`${base}api/about`)).ok) return { base, folder, stop: () => child.kill() };
    } catch { /* not up yet */ }
    await new Promise((r) => setTimeout(r, 100));
  }
  child.kill();
  throw new Error(`the server did not come up: ${said}`);
}

/** A folder with the demo's models, made by the program itself. */
export function models(folder = mkdtempSync(join(tmpdir(), "fettle-models-"))) {
  mkdirSync(folder, { recursive: true });
  execFileSync(fettle, ["demo-models", folder]);
  return folder;
}

/** A certificate of its own for 127.0.0.1 (openssl), and whether this program takes one. */
export function certificate() {
  const into = mkdtempSync(join(tmpdir(), "fettle-tls-")), pem = join(into, "box.pem"), key = join(into, "box-key.pem");
  execFileSync("openssl", ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-keyout", key, "-out", pem], { stdio: "ignore" });
  return ["--tls", pem, "--tls-key", key];
}
const there = (command, ...words) => {
  try {
    return execFileSync(command, words, { encoding: "utf8" });
  } catch {
    return "";
  }
};
export const encrypts = !fake && /--tls/.test(there(fettle, "serve", "--help")) && there("openssl", "version") !== "";
