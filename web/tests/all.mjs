// All tests of the page, their files beside each other, each said as a whole when it ends: node tests/all.mjs
import { spawn } from "node:child_process";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const run = (name) => new Promise((yes) => {
  const child = spawn(process.execPath, ["--test", ...process.argv.slice(2), join(here, name)], { stdio: ["ignore", "pipe", "pipe"] });
  let said = "";
  child.stdout.on("data", (d) => (said += d));
  child.stderr.on("data", (d) => (said += d));
  child.on("close", (code, signal) => {
    process.stdout.write(said);
    yes(code ?? signal);
  });
});
const codes = await Promise.all(["words.test.mjs", "page.test.mjs", "visits.test.mjs"].map(run));
process.exit(codes.every((c) => c === 0) ? 0 : 1);
