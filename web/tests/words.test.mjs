// Units and plan text, without a browser. Factors: exact definitions (inch, pound; NIST SP 811 appendix B.8).
import { test } from "node:test";
import assert from "node:assert/strict";
import { build } from "esbuild";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const src = join(dirname(fileURLToPath(import.meta.url)), "..", "src");
async function load(name) {
  const out = await build({ entryPoints: [join(src, name)], bundle: true, write: false, format: "esm" });
  return import("data:text/javascript;base64," + Buffer.from(out.outputFiles[0].text).toString("base64"));
}

test("quantities in a sentence are said in inches", async () => {
  const { say } = await load("units.ts");
  assert.equal(say("torque 22 N·m → 42.52 N·m", "metric", "inch"), "torque 16.2 lbf·ft → 31.361 lbf·ft");
  assert.equal(say("330 x 250 x 25 mm", "metric", "inch"), "12.992 x 9.843 x 0.984 in");
  assert.equal(say("±78, ±57 mm", "metric", "inch"), "±3.071, ±2.244 in");
  assert.equal(say("7.970..7.978 mm", "metric", "inch"), "0.31378..0.31409 in");
  assert.equal(say("plate 30 °C", "metric", "inch"), "plate 86.0 °F");
  assert.equal(say("-0.375 mm", "metric", "inch"), "-0.01476 in");
  assert.equal(say("12.512 mm", "metric", "inch"), "0.4926 in", "a length to 0.0001 in");
  assert.equal(say("22.0045 mm", "metric", "inch"), "0.86632 in", "half a micron is said where it was said");
  assert.equal(say("21.998 mm", "metric", "inch", true), "0.86606 in", "fine: held against a limit");
  assert.equal(say("52° of the cutter, 37.3 cm³/min", "metric", "inch"), "52° of the cutter, 2.276 in³/min");
  assert.equal(say("0.6250 in", "inch", "metric"), "15.875 mm");
  assert.equal(say("16.23 lbf·ft or 194.7 lbf·in", "inch", "metric"), "22.00 N·m or 21.998 N·m");
  assert.equal(say("clamp force 20 kN", "metric", "inch"), "clamp force 4496 lbf");
  assert.equal(say("510.2 lbf", "inch", "metric"), "2269.5 N");
  assert.equal(say("13 features, volume 360.3 cm³, in a box", "metric", "inch"), "13 features, volume 21.99 in³, in a box");
  assert.equal(say("1.57086614173228 in", "inch", "inch"), "1.570866 in", "no more places than anybody reads");
  assert.equal(say("0.0748031496062992 in", "inch", "metric"), "1.90000 mm");
  assert.equal(say("38 N/µm", "metric", "inch"), "216986 lbf/in");
});
test("what is no quantity stays as it is", async () => {
  const { say } = await load("units.ts");
  for (const text of ["OP30, nest 2", "2.429", "EN-GJL-250", "M8x1.25", "7.20 kg/dm3", "41.71 %", "3 K", "plan-0.toml"]) assert.equal(say(text, "metric", "inch"), text);
});
test("keys are spelt as the server spells them", async () => {
  const { readPlan } = await load("plan.ts");
  const plan = readPlan('[plan]\nname = "x" # note\n[[operation]]\nid = "OP30"\n[[operation.cut]]\ntool = "T11"\nfeed = "770 mm/min"\n[[operation.cut]]\ntool = "T11"\nfeed = "1 mm/min"\n[[pallet.nest]]\nat = ["1, 2 mm",\n "3, 4 mm"]\n');
  assert.equal(plan.leaves.get("operation.OP30.cut.T11.feed").text, "770 mm/min");
  assert.equal(plan.leaves.get("operation.OP30.cut.T11#2.feed").line, 10);
  assert.equal(plan.leaves.get("pallet.nest.1.at").text, "1, 2 mm; 3, 4 mm");
  assert.equal(plan.leaves.get("plan.name").text, "x");
});
test("a moved place keeps how the plan wrote it", async () => {
  const { places, movedPlace } = await load("plan.ts");
  assert.deepEqual(places("±78, ±57 mm")[3], { x: 78, y: 57 });
  assert.equal(movedPlace("±78, ±57 mm", 0, { x: -80, y: -57 }), "±80, ±57 mm");
  assert.equal(movedPlace("1, 2 mm; 3, 4 mm", 1, { x: 5, y: 4 }), "1, 2 mm; 5, 4 mm");
  assert.equal(movedPlace("±3.0, ±2 in", 3, { x: 77.47, y: 50.8 }), "±3.05, ±2 in");
});
